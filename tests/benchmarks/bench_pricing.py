"""What pricing a large day costs, lots and kits and minutes in it, against reading its facts and writing its charges.

The floor reads the same rows through the ORM, one query for each table, and inserts the charges of the day with one
bulk insert, the triggers lifted; it prices nothing, shares nothing and is rolled back.
"""

import statistics
import uuid
from datetime import date, timedelta
from decimal import Decimal

from django.db import connection, transaction

from clinic.actions import care, prices, services, staff
from clinic.models import (
    BoardingDay,
    CareItem,
    GradeCost,
    GradeMinutes,
    KitLine,
    Price,
    Service,
    SheetRow,
    Stay,
    StayLevel,
    SupplyLot,
)
from clinic.queries.priced_day import priced_day
from config import triggers
from ledger.models import Charge, traits
from tests.benchmarks import bench
from tests.clinic import make
from tests.clinic.make import AT, TODAY

ANIMALS, GIVEN, ROUNDS = 200, 9, 7
ON = TODAY - timedelta(days=1)


def rows() -> list[tuple[str, float, float]]:
    """Price ten lines for each of 200 animals, nine of them from two supplies and two grades each."""
    clinic = make.open_clinic()
    given = [_service(clinic, number) for number in range(GIVEN)]
    with transaction.atomic():
        admitted = [clinic.admit(f"Animal {number}", on=ON).animal for number in range(ANIMALS)]
    facts = [
        care.Given(key=uuid.uuid4(), animal=animal, on=ON, service=service) for animal in admitted for service in given
    ]
    for start in range(0, len(facts), 500):
        care.record_all(facts=facts[start : start + 500], by=clinic.nurse, today=ON, at=AT)
    ready = [row for row in priced_day(on=ON) if not row.obstacle]
    lines = [line for row in ready for line in row.lines]
    if len(lines) != ANIMALS * (GIVEN + 1) or sum(bool(line.used.moves) for line in lines) != ANIMALS * GIVEN:
        raise AssertionError("the day is not as large as it says, or nothing came from the shelf")
    slips = [line.slip for line in lines]
    priced, bare = [], []
    for _ in range(ROUNDS):
        priced.append(bench.undisturbed(lambda: priced_day(on=ON)))
        triggers.lift(connection)
        bare.append(bench.undisturbed(lambda: _bare(slips)))
        triggers.install(connection)
    ratio = statistics.median(priced) / statistics.median(bare)
    return [(f"pricing a day of {len(lines):,} lines against its facts and charges bare", ratio, 3)]


def _service(clinic: make.Clinic, number: int) -> Service:
    """A service whose cost is computed from two grades' minutes and two supplies, one of them partly given."""
    service = services.add_service(code=f"care-{number}", name=f"Care number {number}", kind="care")
    grades = [
        staff.add_grade(
            name=name, starts_on=date(2026, 7, 1), people=Decimal(1), yearly_cost=Decimal(87_360), days=Decimal(224),
            hours_a_day=Decimal("7.5"), break_minutes_a_day=90, by=clinic.manager, at=AT,
        )
        for name in ("Nurse", "Veterinarian")
    ]  # fmt: skip
    staff.set_minutes(service=service, minutes={grade.pk: Decimal(5) for grade in grades})
    kit = [(f"supply-{which}", f"Supply {which}", "piece", Decimal("0.5")) for which in (number, (number + 1) % GIVEN)]
    for line in services.fill_kit(service=service, supplies=kit).lines.select_related("supply"):
        for lot in range(3 if not line.supply.lots.exists() else 0):
            make.shelf(clinic, line.supply, "90", cost=9000 + 77 * lot, donated=lot == 1, on=ON - timedelta(days=lot))
    prices.set_price(
        service=service, starts_on=date(2026, 7, 1), cost_from="computed", usual_fee=Decimal(40), asked=Decimal(12),
        by=clinic.manager, at=AT,
    )  # fmt: skip
    return service


def _bare(slips: list) -> None:
    list(CareItem.objects.filter(on=ON, undone_at=None, signing=None).select_related("service"))
    list(Stay.objects.filter(admitted_on__lte=ON).select_related("animal__partner", "place__room"))
    list(StayLevel.objects.filter(from_on__lte=ON).select_related("level__service"))
    for model in (SheetRow, BoardingDay, Price, GradeMinutes, GradeCost, SupplyLot):
        list(model.objects.all())
    list(KitLine.objects.select_related("supply"))
    with transaction.atomic():
        Charge.objects.bulk_create(_charge(number, slip) for number, slip in enumerate(slips, start=1))
        transaction.set_rollback(True)


def _charge(number: int, slip) -> Charge:
    return Charge(
        entry_id=number,
        subject_key=slip.subject_key,
        party_key=slip.party_key,
        plan_key=slip.plan_key,
        kind_id=slip.kind,
        traits=traits.pack(slip.traits),
        care_on=slip.care_on,
        is_late=slip.late,
        quantity_thousandths=int(slip.quantity * 1000),
        unit=slip.unit,
        cost_minor=slip.cost_minor,
        usual_minor=slip.usual_minor,
        asked_minor=slip.asked_minor,
        goods_minor=slip.goods_minor,
    )
