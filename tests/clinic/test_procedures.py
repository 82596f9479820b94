"""Procedures by their template: a time equation, supplies and the theater, written over on the day.

The minutes 15 x [new client] + 5 + 3 x lines + 10 x [rush] are those of R. S. Kaplan and S. R. Anderson, "Time-Driven
Activity-Based Costing", HBS working paper 04-045 (2003), page 13 (equation published; 14 and 39 minutes recomputed).
"""

import uuid
from datetime import date
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from clinic.actions import care, prices, procedures, services, staff, supply_prices
from clinic.actions.procedures import Took
from clinic.models import CareItem, ItemPart, Procedure, Service, Supply, TimeExtra
from clinic.queries import staff as queries
from clinic.queries.priced_day import priced_day
from ledger.models import Charge
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"
OCTOBER = date(2026, 10, 1)
YEAR = {"people": Decimal(1), "days": Decimal(224), "hours_a_day": Decimal("7.5"), "break_minutes_a_day": 90}


@pytest.fixture
def clinic(settings):
    """An operation of 60 minutes of a vet at 180.00 and 90 of a nurse at 65.00 an hour, with a plate at 42.00."""
    settings.AS_OF = "2026-10-14"
    made = make.open_clinic()
    by = {"by": made.bookkeeper, "at": AT}
    vet = staff.add_grade(name="Veterinarian", starts_on=OCTOBER, yearly_cost=Decimal(241_920), **YEAR, **by)
    nurse = staff.add_grade(name="Nurse", starts_on=OCTOBER, yearly_cost=Decimal(87_360), **YEAR, **by)
    staff.set_minutes(service=made.surgery, minutes={vet.pk: Decimal(60), nurse.pk: Decimal(90)})
    extras = [("per further plate", vet.pk, Decimal(25)), ("per further plate", nurse.pk, Decimal(30))]
    staff.set_extras(service=made.surgery, room_minutes=100, extras=extras)
    services.fill_kit(service=made.surgery, supplies=[("plate", "Bone plate", "plate", Decimal(1))])
    plate = Supply.objects.get(code="plate")
    supply_prices.set_supply_price(supply=plate, starts_on=OCTOBER, cost=Decimal(42), **by)
    prices.set_price(
        service=made.surgery,
        starts_on=OCTOBER,
        usual_fee=Decimal(2600),
        asked_from="cost",
        asked_percent=Decimal(100),
        cost_from="computed",
        **by,
    )
    made.vet_grade, made.nurse_grade, made.plate = vet, nurse, plate
    return made


def operated(clinic, took: Took | None = None, **more) -> CareItem:
    stay = clinic.admit("Bracken", on=DAY)
    given = care.Given(key=uuid.uuid4(), animal=stay.animal, on=DAY, service=clinic.surgery, **more)
    said = {"asa_class": 2, "vet": clinic.vet}
    return procedures.operate(given=given, said=said, took=took, room_minutes=None, by=clinic.vet, today=DAY, at=AT)


def line():
    return next(line for row in priced_day(on=DAY) for line in row.lines if line.service.kind == "procedure")


def planned(clinic, **more) -> Took:
    said = {
        "minutes": {clinic.vet_grade.pk: Decimal(60), clinic.nurse_grade.pk: Decimal(90)},
        "supplies": {clinic.plate.pk: Decimal(1)},
    }
    return Took(**said | more)


def test_a_procedure_as_planned_costs_its_template(clinic):
    """60 minutes at 3.00, 90 at 65/60 (97.50) and a plate at 42.00 are 319.50."""
    operated(clinic)

    assert line().slip.cost_minor == line().slip.asked_minor == 319_50


def test_what_was_taken_on_the_day_changes_the_cost_of_that_line(clinic):
    """Two further plates: 110 minutes of the vet (330.00), 150 of the nurse (162.50), three plates (126.00): 618.50."""
    item = operated(
        clinic,
        planned(clinic, times={"per further plate": Decimal(2)}, supplies={clinic.plate.pk: Decimal(3)}),
    )

    assert line().slip.cost_minor == 618_50
    worked = {part.grade.name: (part.quantity, part.words) for part in item.parts.filter(grade__isnull=False)}
    assert worked["Veterinarian"] == (110, "60, per further plate 2 × 25")


def test_the_shelf_gives_what_was_taken_and_not_what_was_planned(clinic):
    """Three plates of a lot bought at 50.00 each, two of them planned otherwise: 180.00 + 97.50 + 150.00 = 427.50."""
    make.shelf(clinic, clinic.plate, "5", cost=250_00)
    operated(clinic, planned(clinic, supplies={clinic.plate.pk: Decimal(3)}))

    assert line().slip.cost_minor == 427_50
    assert [(one.supply_id, one.quantity) for one in line().used.supplies] == [(clinic.plate.pk, 3)]


def test_a_paid_nurse_stays_asked_beside_a_vet_who_gave_the_time(client, clinic):
    """180.00 of the 319.50 were given: the funds are asked for the 139.50 that the nurse and the plate cost."""
    operated(clinic, planned(clinic, free={clinic.vet_grade.pk: Decimal(60)}))
    slip = line().slip

    assert (slip.cost_minor, slip.asked_minor, slip.goods_minor, slip.time_minor) == (319_50, 139_50, 0, 180_00)
    clinic.see_all()
    clinic.sign()
    assert Charge.objects.get(kind="procedures").time_minor == 180_00
    client.force_login(clinic.manager, BACKEND)
    story = client.get(reverse("clinic:line", args=[Charge.objects.get(kind="procedures").entry_id])).content.decode()
    assert "Veterinarian 60 min (60 of them given free)" in story and "of it unpaid time" in story
    month = {one.name: one for one in queries.capacity(on=DAY).lines}
    assert (month["Veterinarian"].used, month["Veterinarian"].free) == (0, 60)
    assert (month["Nurse"].used, month["Nurse"].free) == (90, 0)


def test_time_given_free_lowers_a_typed_price_by_its_part_of_the_cost(clinic):
    """Cost 820.00 as typed, 180.00 of it given: asked is 1,200.00 x 640 / 820 = 936.585..."""
    later = {"by": clinic.bookkeeper, "at": AT}
    prices.set_price(
        service=clinic.surgery, starts_on=DAY, cost=Decimal(820), usual_fee=Decimal(2600), asked=Decimal(1200), **later
    )
    operated(clinic, planned(clinic, free={clinic.vet_grade.pk: Decimal(60)}))

    assert (line().slip.cost_minor, line().slip.asked_minor) == (820_00, 936_59)


@pytest.mark.parametrize(("new", "lines", "rush", "minutes"), [(0, 3, 0, 14), (1, 3, 1, 39)])
def test_the_time_equation_through_the_template(clinic, new, lines, rush, minutes):
    """Equation published, minutes recomputed: see the head of this file."""
    nurse = clinic.nurse_grade.pk
    extras = [("new client", nurse, Decimal(15)), ("per line", nurse, Decimal(3)), ("rush", nurse, Decimal(10))]
    staff.set_extras(service=clinic.surgery, room_minutes=0, extras=extras)
    times = {"new client": Decimal(new), "per line": Decimal(lines), "rush": Decimal(rush)}

    item = operated(clinic, Took(minutes={nurse: Decimal(5)}, times=times))
    assert item.parts.get(grade=nurse).quantity == minutes


def test_the_pages_ask_for_what_was_taken_filled_in_as_planned(client, clinic):
    stay = clinic.admit("Bracken", on=DAY)
    client.force_login(clinic.manager, BACKEND)
    address = reverse("clinic:operate", args=[stay.animal_id])
    said = {"key": uuid.uuid4(), "service": clinic.surgery.pk, "on": "2026-10-14", "quantity": "1", "asa_class": "2"}
    asked = client.post(address, said | {"adjust": "yes"})

    assert asked.status_code == 200 and not CareItem.objects.exists()
    shown = asked.content.decode()
    assert 'value="60"' in shown and 'value="90"' in shown and "Per further plate: how often" in shown
    vet, nurse = f"took-grade_{clinic.vet_grade.pk}", f"took-grade_{clinic.nurse_grade.pk}"
    boxes = {
        vet: "70",
        nurse: "95",
        f"took-supply_{clinic.plate.pk}": "1",
        "took-extra_0": "1",
        "took-room_minutes": "120",
    }
    answer = client.post(address, said | boxes | {"took": clinic.surgery.pk, f"took-free_{clinic.vet_grade.pk}": "200"})
    assert (
        answer.status_code == 422 and "200 minutes were given free, but only 95 were worked" in answer.content.decode()
    )
    assert not CareItem.objects.exists()
    for _ in range(2):
        assert client.post(address, said | boxes | {"took": clinic.surgery.pk}).status_code == 303
    assert sorted(ItemPart.objects.values_list("quantity", flat=True)) == [1, 95, 125]
    assert Procedure.objects.get().room_minutes == 120


def test_the_template_is_typed_one_extra_to_a_line(client, clinic):
    client.force_login(clinic.bookkeeper, BACKEND)
    address = reverse("clinic:service_minutes", args=[clinic.surgery.pk])
    said = {f"grade_{clinic.vet_grade.pk}": "45", "room_minutes": "80", "extras": "emergency: 12.5 nurse"}

    assert client.post(address, said).status_code == 303
    assert list(TimeExtra.objects.values_list("words", "minutes")) == [("emergency", Decimal("12.5"))]
    assert Service.objects.get(pk=clinic.surgery.pk).room_minutes == 80
    assert "emergency: 12.5 Nurse" in client.get(address).content.decode()
    for wrong, sentence in (
        ("emergency: 12 Wizard", "There is no grade “Wizard”"),
        ("12 Nurse", "lacks its words"),
        ("emergency: x Nurse", "lacks its words"),
        ("emergency: 1 Nurse\nEmergency: 2 Nurse", "stands twice for one grade"),
    ):
        answer = client.post(address, said | {"extras": wrong})
        assert answer.status_code == 422 and sentence in answer.content.decode()
    assert TimeExtra.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "refusal"),
    [
        ({"minutes": {}, "free": {1: Decimal(5)}}, procedures.FreeAboveWorked),
        ({"supplies": {1: Decimal(-1)}}, procedures.TookBelowZero),
        ({"times": {"per further plate": Decimal(-2)}}, procedures.TookBelowZero),
    ],
)
def test_what_cannot_have_been_taken_is_refused_whole(clinic, wrong, refusal):
    with pytest.raises(refusal), transaction.atomic():
        operated(clinic, Took(**wrong))

    assert not CareItem.objects.exists() and not ItemPart.objects.exists()


def test_the_database_keeps_what_an_item_took(clinic):
    item = operated(clinic, planned(clinic))
    part = item.parts.first()
    clinic.see_all()
    clinic.sign()

    for attack in (
        lambda: ItemPart.objects.filter(pk=part.pk).update(quantity=1),
        lambda: ItemPart.objects.filter(pk=part.pk)._raw_delete("default"),
        lambda: ItemPart.objects.create(care_item=item, supply_id=None, grade_id=part.grade_id, quantity=1),
        lambda: ItemPart.objects.create(
            care_item=item, supply=Supply.objects.create(code="screw", name="Screw"), quantity=1
        ),
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            attack()
    assert ItemPart.objects.count() == 3


@pytest.mark.parametrize("kind", [kind for kind in Service.Kind if kind not in {"boarding", "procedure"}])
def test_each_kind_of_care_is_written_down_and_priced(clinic, kind):
    made = services.add_service(code=f"one-{kind}", name=f"One {kind}", kind=kind)
    prices.set_price(
        service=made,
        starts_on=OCTOBER,
        cost=Decimal(3),
        usual_fee=Decimal(9),
        asked=Decimal(4),
        by=clinic.manager,
        at=AT,
    )
    stay = clinic.admit("Bracken", on=DAY)
    clinic.give(stay.animal, made)

    slip = next(line.slip for row in priced_day(on=DAY) for line in row.lines if line.service == made)
    assert (slip.cost_minor, slip.usual_minor, slip.asked_minor) == (3_00, 9_00, 4_00)
    assert kind in slip.traits


def test_the_month_compares_its_standard_minutes_with_the_least_of_daily_care(client, clinic):
    """Two boarding days are 30 minutes by the second-hand figure of 9 + 6; the standard level is planned with 15."""
    for name in ("Bracken", "Sorrel"):
        clinic.admit(name, on=DAY)
    clinic.see_all()
    clinic.sign()
    month = queries.capacity(on=DAY)

    assert (month.boarding_days, month.least_minutes, month.standard_minutes) == (2, 30, 30)
    client.force_login(clinic.reader, BACKEND)
    assert "9 of cleaning and 6 of feeding" in client.get(reverse("clinic:capacity", args=[TODAY])).content.decode()


def test_an_operation_takes_from_the_shelf_what_was_written_down(clinic):
    """Three plates instead of the kit's one, the oldest lot first: 2 x 40.00 and 1 x 46.00 are 126.00."""
    make.shelf(clinic, clinic.plate, "2", cost=8000, on=OCTOBER)
    make.shelf(clinic, clinic.plate, "5", cost=23000, on=date(2026, 10, 2))
    operated(clinic, Took(supplies={clinic.plate.pk: Decimal(3)}))
    counted = make.count(clinic, clinic.plate, "4")

    clinic.sign()

    assert counted.expected_millionths == 4_000_000
    assert Charge.objects.get(kind="procedures").cost_minor == 12600
    lots = clinic.plate.lots.order_by("arrived_on").values_list("left_millionths", "left_cost")
    assert list(lots) == [(0, 0), (4_000_000, 18_400_000_000)]
