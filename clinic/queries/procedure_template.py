"""How a procedure is planned: minutes by grade, what may come on top, supplies and the theater."""

from dataclasses import dataclass
from decimal import Decimal

from clinic.models import Grade, KitLine, Service


@dataclass(frozen=True)
class GradePlan:
    grade_id: int
    name: str
    minutes: Decimal


@dataclass(frozen=True)
class ExtraPlan:
    words: str
    detail: str  # "25 min Veterinarian, 10 min Nurse"


@dataclass(frozen=True)
class SupplyPlan:
    supply_id: int
    name: str
    unit: str
    quantity: Decimal


@dataclass(frozen=True)
class ProcedureTemplate:
    service_id: int
    name: str
    grades: tuple[GradePlan, ...]  # all of them: somebody else may have helped
    extras: tuple[ExtraPlan, ...]
    supplies: tuple[SupplyPlan, ...]
    room_minutes: int


def procedure_template(*, service: Service) -> ProcedureTemplate:
    planned = dict(service.grade_minutes.values_list("grade", "minutes"))
    extras: dict[str, list[str]] = {}
    for extra in service.time_extras.select_related("grade").order_by("pk"):
        extras.setdefault(extra.words, []).append(f"{extra.minutes.normalize():f} min {extra.grade.name}")
    kit = KitLine.objects.filter(kit__service=service).select_related("supply").order_by("pk")
    return ProcedureTemplate(
        service_id=service.pk,
        name=service.name,
        grades=tuple(
            GradePlan(grade.pk, grade.name, planned.get(grade.pk, Decimal(0)))
            for grade in Grade.objects.order_by("name")
        ),
        extras=tuple(ExtraPlan(words, ", ".join(found)) for words, found in extras.items()),
        supplies=tuple(SupplyPlan(line.supply_id, line.supply.name, line.supply.unit, line.quantity) for line in kit),
        room_minutes=service.room_minutes,
    )
