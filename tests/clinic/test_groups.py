"""B4: a group is one row until split; what all get is priced once and shared over its animals, to the minor unit."""

import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from clinic import audit as care_audit
from clinic.actions import care, groups, line_corrections, orders, prices, services, stays
from clinic.models import Animal, CareItem, Group, GroupFact, House, Order, Supply, SupplyLot
from clinic.queries.groups import young_level
from clinic.queries.priced_day import priced_day
from clinic.queries.unsigned_care import unsigned_care
from clinic.queries.ward_sheet import ward_sheet
from config.refusal import Refusal
from ledger.audit import audit
from ledger.queries import charges
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def clinic():
    return make.open_clinic()


@pytest.fixture
def with_mother(clinic):
    """A level that costs nothing (B4)."""
    level = services.add_boarding_level(code="with-mother", name="With mother", position=9, standard_minutes=0)
    nothing = {"cost": Decimal(0), "usual_fee": Decimal(0), "asked": Decimal(0)}
    prices.set_price(service=level.service, starts_on=date(2026, 7, 1), **nothing, by=clinic.manager, at=AT)
    return level


@pytest.fixture
def litter(clinic, with_mother) -> Group:
    willa = clinic.admit("Willa", species="cat").animal
    young = {"names": ["Moss", "", "Fern"], "born_on": DAY - timedelta(days=1), "level": with_mother}
    return groups.admit_young(key=uuid.uuid4(), mother=willa, **young, by=clinic.nurse, today=DAY, at=AT)


def give(clinic, group, service, *, on=DAY, today=DAY, key=None, quantity="1", **more) -> list[CareItem]:
    said = {"on": on, "service": service, "quantity": Decimal(quantity)} | more
    return groups.give(key=key or uuid.uuid4(), group=group, **said, by=clinic.nurse, today=today, at=AT)


def charged(animal: Animal, words: str = "shared") -> list[tuple[int, int, int]]:
    lines = charges.of_subject(subject_key=animal.key).lines
    return [(line.cost_minor, line.usual_minor, line.asked_minor) for line in lines if words in line.words]


def test_young_born_here_are_admitted_as_born_here_with_their_mother(clinic, litter, with_mother):
    willa, *young = litter.animals.order_by("pk")

    assert [(one.name, one.species, one.mother, one.is_born_here, one.born_on) for one in young] == [
        (name, "cat", willa, True, DAY - timedelta(days=1)) for name in ("Moss", "", "Fern")
    ]
    assert {one.stays.get().levels.get().level for one in young} == {with_mother}
    assert (litter.name, {one.partner for one in young}) == ("Willa and her young", {clinic.partner})


def test_what_all_get_is_priced_once_and_the_animals_sum_to_it(clinic, litter):
    """The dressing costs 9.85, 26.00 and 12.00: of four animals two pay a cent more of the cost, all the same else."""
    items = give(clinic, litter, clinic.dressing)
    clinic.sign()

    shared = [charged(animal)[0] for animal in litter.animals.order_by("pk")]
    assert shared == [(247, 650, 300), (246, 650, 300), (246, 650, 300), (246, 650, 300)]
    assert [sum(figures) for figures in zip(*shared, strict=True)] == [985, 2600, 1200]
    assert sum(item.quantity for item in items) == 1
    assert list(audit().findings) == []


@pytest.mark.parametrize("quantity", ["1", "0.7", "3", "0.011"])
@pytest.mark.parametrize("count", [2, 3, 7])
def test_whatever_the_quantity_and_the_count_nothing_is_lost(clinic, count, quantity):
    members = [clinic.admit(f"Kit {number}").animal for number in range(count)]
    said = {"name": "Litter", "members": members, "by": clinic.nurse, "today": DAY, "at": AT}
    group = groups.form(key=uuid.uuid4(), **said)

    give(clinic, group, clinic.dressing, quantity=quantity)
    waits = [unsigned_care(animal=one, since=DAY, until=DAY, currency="USD") for one in members]
    waits = [[line for line in lines if line.words == "Padded dressing"][0] for lines in waits]
    clinic.sign()

    parts = [charged(one)[0] for one in members]
    half_up = [int(Decimal(each) * Decimal(quantity) * 100 + Decimal("0.5")) for each in ("9.85", "26", "12")]
    assert [sum(figures) for figures in zip(*parts, strict=True)] == half_up
    assert [(line.cost_minor, line.usual_minor, line.asked_minor) for line in waits] == parts
    assert sum(item.quantity for item in CareItem.objects.filter(group_fact__group=group)) == Decimal(quantity)
    assert max(max(figures) - min(figures) for figures in zip(*parts, strict=True)) <= 1


def test_nights_are_per_animal_and_one_with_its_mother_may_cost_nothing(clinic, litter):
    clinic.sign()

    boarded = [charged(animal, "Boarding") for animal in litter.animals.order_by("pk")]
    assert boarded == [[(2140, 4200, 2400)], [(0, 0, 0)], [(0, 0, 0)], [(0, 0, 0)]]


def test_only_those_in_care_that_day_share(clinic, litter):
    moss = litter.animals.get(name="Moss")
    gone = {"discharged_on": TODAY, "left_to": "died", "why": ""}
    stays.discharge(stay=moss.stays.get(), **gone, by=clinic.vet, today=TODAY, at=AT)

    give(clinic, litter, clinic.dressing, on=TODAY, today=TODAY)

    assert {item.animal.name for item in CareItem.objects.all()} == {"Willa", "", "Fern"}
    assert GroupFact.objects.get().count == 3


def test_the_same_tap_twice_is_one_fact(clinic, litter):
    key = uuid.uuid4()

    first, again = give(clinic, litter, clinic.dressing, key=key), give(clinic, litter, clinic.dressing, key=key)

    assert (first, CareItem.objects.count()) == (again, 4)
    with pytest.raises(groups.SentBefore, match="sent before with other content"):
        give(clinic, litter, clinic.tablets, key=key)


def test_a_part_is_taken_back_with_its_whole(clinic, litter):
    items = give(clinic, litter, clinic.dressing)

    care.undo(item=items[2], by=clinic.nurse, at=AT)

    assert not CareItem.objects.filter(undone_at=None).exists()


def test_a_whole_whose_price_is_missing_holds_all_its_animals_back_and_nobody_else(clinic, litter):
    other = clinic.admit("Bracken").animal
    unpriced = services.add_service(code="bath", name="Bath", kind="care", unit="bath")
    give(clinic, litter, unpriced)

    held = {row.animal.name: row.obstacle for row in priced_day(on=DAY) if row.obstacle}

    assert set(held) == {"Willa", "Moss", "", "Fern"}
    clinic.sign()
    assert charged(other, "Boarding") == [(2140, 4200, 2400)]
    assert not any(charged(one, "") for one in litter.animals.all())


def test_split_gives_each_animal_the_order_that_all_had(clinic, litter):
    willa = litter.animals.order_by("pk")[0]
    said = {"rounds": ["morning", "evening"], "starts_on": DAY, "by": clinic.vet, "at": AT, "for_group": litter}
    order = orders.give(key=uuid.uuid4(), animal=willa, service=clinic.tablets, **said)
    give(clinic, litter, clinic.tablets, order=order, round="morning", quantity="4")

    groups.split(group=litter, by=clinic.nurse, today=DAY, at=AT)

    each = (
        Order.objects.filter(stopped_on=None).order_by("animal").values_list("animal__name", "for_group", "starts_on")
    )
    assert list(each) == [(name, None, DAY) for name in ("Willa", "Moss", "", "Fern")]
    assert all(item.order.animal_id == item.animal_id for item in CareItem.objects.all())
    assert not Animal.objects.exclude(group=None).exists()
    with pytest.raises(groups.SplitAlready, match="This group is split"):
        give(clinic, litter, clinic.dressing)


def test_the_last_but_one_to_leave_ends_the_group(clinic):
    one, two = clinic.admit("Ash"), clinic.admit("Birch")
    said = {"name": "Pair", "members": [one.animal, two.animal], "by": clinic.nurse, "today": DAY, "at": AT}
    group = groups.form(key=uuid.uuid4(), **said)

    gone = {"discharged_on": TODAY, "left_to": "adopted", "why": ""}
    stays.discharge(stay=one, **gone, by=clinic.vet, today=TODAY, at=AT)

    group.refresh_from_db()
    assert (group.split_on, group.animals.count()) == (TODAY, 0)


@pytest.mark.parametrize(
    ("act", "says"),
    [
        (lambda c, g: give(c, g, c.dressing, quantity="0.003"), "too little to share over 4 animals"),
        (lambda c, g: form(c, [g.animals.first()]), "two animals or more"),
        (lambda c, g: form(c, [g.animals.first(), c.admit("Ash").animal]), "is in a group already"),
        (lambda c, g: form(c, [c.admit("Ash").animal, gone(c)]), "is not in care"),
        (lambda c, g: young(c, gone(c), DAY), "Admit her first"),
        (lambda c, g: young(c, g.animals.first(), TODAY), "born while their mother is in care"),
        (lambda c, g: young(c, g.animals.first(), DAY - timedelta(days=400)), "today or before"),
    ],
)
def test_what_cannot_be_is_refused_and_changes_nothing(clinic, litter, act, says):
    before = Group.objects.count(), GroupFact.objects.count(), litter.animals.count()

    with pytest.raises(Refusal, match=says), transaction.atomic():
        act(clinic, litter)

    assert (Group.objects.count(), GroupFact.objects.count(), litter.animals.count()) == before


def form(clinic, members):
    return groups.form(key=uuid.uuid4(), name="Litter", members=members, by=clinic.nurse, today=DAY, at=AT)


def young(clinic, mother, born_on):
    said = {"names": [""], "born_on": born_on, "level": None}
    return groups.admit_young(key=uuid.uuid4(), mother=mother, **said, by=clinic.nurse, today=DAY, at=AT)


def gone(clinic) -> Animal:
    stay = clinic.admit("Gone")
    said = {"discharged_on": DAY, "left_to": "adopted", "why": ""}
    return stays.discharge(stay=stay, **said, by=clinic.vet, today=DAY, at=AT).animal


@pytest.mark.parametrize(
    "attack",
    [
        lambda: GroupFact.objects.update(quantity=2),
        lambda: GroupFact.objects.all()._raw_delete("default"),
        lambda: CareItem.objects.update(group_part=0),
        lambda: CareItem.objects.update(group_part=None),
    ],
)
def test_the_database_keeps_a_whole_and_its_parts(clinic, litter, attack):
    give(clinic, litter, clinic.dressing)
    before = sorted(CareItem.objects.values_list("pk", "group_part")), list(GroupFact.objects.values_list())

    with pytest.raises(IntegrityError), transaction.atomic():
        attack()

    assert (sorted(CareItem.objects.values_list("pk", "group_part")), list(GroupFact.objects.values_list())) == before


def pages(client, settings, person) -> None:
    settings.AS_OF = str(DAY)
    client.force_login(person, "django.contrib.auth.backends.ModelBackend")


def test_a_group_is_one_row_and_what_all_get_is_one_tap(clinic, litter, client, settings):
    pages(client, settings, clinic.vet)
    said = {"key": uuid.uuid4(), "service": clinic.dressing.pk, "rounds": ["morning"], "every_days": 1}
    willa, fern = litter.animals.get(name="Willa"), litter.animals.get(name="Fern")
    for animal, more in ((fern, {"for_all": "on"}), (fern, {"key": uuid.uuid4(), "service": clinic.tablets.pk})):
        answer = client.post(reverse("clinic:order", args=[animal.pk]), {**said, "starts_on": str(DAY), **more})
        assert answer.status_code == 303

    sheet = ward_sheet(on=DAY, today=DAY, moment=AT, house=House.objects.get())
    [row] = sheet.rows
    assert (row.animal_id, row.name, sheet.in_care) == (willa.pk, "Willa and her young", 4)
    assert [(due.name, due.words) for due in row.dues] == [("Padded dressing", "for all 4"), ("Tablets", "Fern")]

    whole, own = row.dues
    tap = {"key": whole.tick, "order": whole.order_id, "round": whole.round}
    answer = client.post(reverse("clinic:tick", args=[DAY]), tap, headers={"HX-Request": "true"})
    assert "Willa and her young" in answer.content.decode()
    assert (CareItem.objects.count(), GroupFact.objects.get().count) == (4, 4)
    client.post(reverse("clinic:tick", args=[DAY]), {"key": own.tick, "order": own.order_id, "round": own.round})
    assert CareItem.objects.filter(service=clinic.tablets).get().animal == fern

    [row] = ward_sheet(on=DAY, today=DAY, moment=AT, house=House.objects.get(), opened=fern.pk).rows
    assert [due.state for due in row.dues] == ["done", "done"]
    assert [line.words for line in row.log] == ["Padded dressing for all 4", "Fern: Tablets"]
    client.post(reverse("clinic:undo", args=[DAY]), {"item": row.dues[0].last_item_id})
    assert not CareItem.objects.filter(service=clinic.dressing, undone_at=None).exists()


def test_as_ordered_ticks_what_is_due_to_all_once(clinic, litter, client, settings):
    said = {"service": clinic.dressing, "rounds": ["midday"], "starts_on": DAY}
    groups.order(key=uuid.uuid4(), group=litter, on=DAY, **said, by=clinic.vet, at=AT)
    pages(client, settings, clinic.nurse)

    client.post(reverse("clinic:as_ordered", args=[DAY]), {"animal": litter.animals.get(name="Willa").pk})
    client.post(reverse("clinic:as_ordered", args=[DAY]), {})

    assert (GroupFact.objects.count(), CareItem.objects.count()) == (1, 4)


def test_beside_the_orders_the_row_asks_whether_it_was_for_all(clinic, litter, client, settings):
    pages(client, settings, clinic.nurse)
    moss = litter.animals.get(name="Moss")
    said = {"service": clinic.dressing.pk, "quantity": "2"}
    address = reverse("clinic:write", args=[DAY])

    client.post(address, {**said, "key": uuid.uuid4(), "animal": moss.pk, "for_all": "on"})
    client.post(address, {**said, "key": uuid.uuid4(), "animal": moss.pk})

    assert [(one.group_fact_id is None, one.quantity) for one in moss.care_items.order_by("pk")] == [
        (False, Decimal("0.5")),
        (True, Decimal(2)),
    ]


def test_the_pages_from_the_young_to_the_split(clinic, client, settings):
    settings.AS_OF = str(TODAY)
    pages(client, settings, clinic.nurse)
    settings.AS_OF = str(TODAY)
    willa = clinic.admit("Willa").animal
    said = {"key": uuid.uuid4(), "count": "2", "names": "Moss\nFern\nReed", "born_on": str(TODAY)}
    said["level"] = clinic.standard.pk
    address = reverse("clinic:young", args=[willa.pk])

    refused = client.post(address, said)
    assert (refused.status_code, "There are 3 names for 2" in refused.content.decode()) == (422, True)
    assert client.post(address, {**said, "names": "Moss"}).status_code == 303
    page = client.get(reverse("clinic:animal", args=[willa.pk])).content.decode()
    assert "Split Willa and her young" in page
    ash = clinic.admit("Ash").animal
    alone = client.post(reverse("clinic:group_add", args=[ash.pk]), {"key": uuid.uuid4(), "name": "Pair"})
    assert "one alone is no group" in alone.content.decode()
    group = Group.objects.get()
    assert client.post(reverse("clinic:group_split", args=[group.pk])).status_code == 303
    assert not group.animals.exists()


def test_a_part_is_taken_back_whole_and_never_made_another_quantity(clinic, litter, gauze):
    give(clinic, litter, clinic.dressing)
    clinic.sign()
    moss = litter.animals.get(name="Moss")
    [line] = [one for one in charges.of_subject(subject_key=moss.key).lines if "shared" in one.words]

    def correct(quantity: str):
        said = {
            "number": line.entry_number,
            "quantity": Decimal(quantity),
            "why": "not given",
            "house": House.objects.get(),
        }
        return line_corrections.correct_line(key=uuid.uuid4(), **said, by=clinic.vet, today=TODAY, at=AT)

    with pytest.raises(line_corrections.PartOfAWhole, match="a part of what 4 animals got together"):
        correct("1")
    correct("0")
    assert left_of(gauze) == 9
    assert [sum(figures) for figures in zip(*charged(moss), strict=True)] == [0, 0, 0]
    assert [*audit().findings, *care_audit.audit().findings] == []


def test_the_level_offered_for_young_is_the_last_ones_else_with_their_mother_else_hers(clinic):
    willa = clinic.admit("Willa").animal
    assert young_level(mother=willa) == clinic.standard

    with_mother = services.add_boarding_level(
        code="boarding-with-mother", name="With mother", position=9, standard_minutes=0
    )
    assert young_level(mother=willa) == with_mother

    rest = services.add_boarding_level(code="rest", name="Rest", position=2, standard_minutes=5)
    said = {"names": [""], "born_on": DAY, "level": rest}
    groups.admit_young(key=uuid.uuid4(), mother=willa, **said, by=clinic.nurse, today=DAY, at=AT)
    assert young_level(mother=clinic.admit("Ash").animal) == rest


@pytest.fixture
def gauze(clinic):
    """One dressing takes a piece of gauze from a lot of ten that cost 10.00."""
    services.fill_kit(service=clinic.dressing, supplies=[("gauze", "Gauze", "piece", Decimal(1))])
    supply = Supply.objects.get(code="gauze")
    make.shelf(clinic, supply, cost=1000)
    return supply


def left_of(supply) -> Decimal:
    return Decimal(SupplyLot.objects.get(supply=supply).left_millionths) / 10**6


def test_what_all_get_leaves_the_shelf_once_whoever_shares_it(clinic, litter, gauze):
    give(clinic, litter, clinic.dressing, quantity="3")

    clinic.sign()

    assert left_of(gauze) == 7
    parts = [charged(one)[0] for one in litter.animals.order_by("pk")]
    assert [sum(figures) for figures in zip(*parts, strict=True)] == [2955, 7800, 3600]
    assert list(audit().findings) == []
    assert list(care_audit.audit().findings) == []


def test_a_whole_that_is_held_back_leaves_the_shelf_as_it_was_for_the_others(clinic, litter, gauze):
    other = clinic.admit("Bracken").animal
    unpriced = services.add_service(code="bath", name="Bath", kind="care", unit="bath")
    give(clinic, litter, clinic.dressing, quantity="9")
    clinic.give(litter.animals.get(name="Fern"), unpriced)
    clinic.give(other, clinic.dressing, quantity="2")

    clinic.sign()

    assert left_of(gauze) == 8
    assert charged(other, "dressing") != []
    assert {row.animal.name for row in priced_day(on=DAY)} == {"Willa", "Moss", "", "Fern"}


def test_what_all_got_on_a_signed_day_is_a_late_entry_of_each(clinic, litter):
    clinic.sign()

    give(clinic, litter, clinic.dressing, today=TODAY, late_source="paper", given_by="not known")
    clinic.sign()

    shared = [charged(one)[0] for one in litter.animals.order_by("pk")]
    assert [sum(figures) for figures in zip(*shared, strict=True)] == [985, 2600, 1200]
    assert {item.late for item in CareItem.objects.all()} == {True}
    assert [*audit().findings, *care_audit.audit().findings] == []
