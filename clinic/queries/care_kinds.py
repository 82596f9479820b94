"""What the books call a service: its kind of expense, and the codes that funds and agreements match."""

from __future__ import annotations

from clinic.models import Animal, Service

# Which of the books' kinds of expense a service falls under.
EXPENSE = {
    Service.Kind.BOARDING: "boarding",
    Service.Kind.DRESSING: "supplies",
    Service.Kind.MEDICATION: "supplies",
    Service.Kind.VACCINE: "supplies",
    Service.Kind.CARE: "staff_time",
    Service.Kind.EXAM: "staff_time",
    Service.Kind.STAFF_TIME: "staff_time",
    Service.Kind.IMAGING: "procedures",
    Service.Kind.PROCEDURE: "procedures",
    Service.Kind.LABORATORY: "outside_services",
    Service.Kind.OUTSIDE: "outside_services",
}


def traits_of(animal: Animal, service: Service) -> set[str]:
    """Return the codes that funds and agreements match; a code holds no space."""
    return {*service.traits, service.kind, f"species:{animal.species.replace(' ', '-')}"}
