"""What the other room and the templates may know of the house."""

from clinic.models import House


def zone() -> str | None:
    """Return the house's time zone, or None before it is set up."""
    return House.objects.values_list("time_zone", flat=True).first()
