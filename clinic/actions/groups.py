"""Groups (B4): a litter or a mother with young is one row until split; what all get is shared over them.

Refusal
└── GroupRefused
    ├── GroupTooSmall     one animal is no group
    ├── GroupedAlready    an animal is in another group
    ├── NotInCare         an animal that is not in care
    ├── MotherNotInCare   young are admitted beside their mother
    ├── BornAhead         a birth that has not come yet, or lies before the mother's stay
    ├── TooLittleToShare  less than a thousandth for each
    ├── SplitAlready      the group is split
    └── SentBefore        the key belongs to something else
"""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import Q

from clinic.actions import animals, care, history, orders
from clinic.formulas import group_shares
from clinic.models import Animal, BoardingLevel, CareItem, Group, GroupFact, Order, Service, Stay, User
from config.refusal import Refusal


class GroupRefused(Refusal):
    """Nothing was changed."""


class GroupTooSmall(GroupRefused):
    field = "others"

    def __init__(self) -> None:
        super().__init__("A group has two animals or more. Nothing was changed.")


class GroupedAlready(GroupRefused):
    field = "others"

    def __init__(self, animal: Animal) -> None:
        super().__init__(f"{animal} is in a group already. Split that one first; nothing was changed.")


class NotInCare(GroupRefused):
    field = "others"

    def __init__(self, animal: Animal) -> None:
        super().__init__(f"{animal} is not in care, so it cannot be cared for with the others. Nothing was changed.")


class MotherNotInCare(GroupRefused):
    def __init__(self, mother: Animal) -> None:
        super().__init__(f"{mother} is not in care. Admit her first, then her young beside her. Nothing was saved.")


class BornAhead(GroupRefused):
    field = "born_on"

    def __init__(self) -> None:
        super().__init__("Young born here are born while their mother is in care, today or before. Nothing was saved.")


class TooLittleToShare(GroupRefused):
    field = "quantity"

    def __init__(self, count: int) -> None:
        super().__init__(f"That is too little to share over {count} animals. Write how much all got together.")


class SplitAlready(GroupRefused):
    def __init__(self) -> None:
        super().__init__("This group is split. Write it down for each animal; nothing was saved.")


class SentBefore(GroupRefused):
    def __init__(self) -> None:
        super().__init__("This form was sent before with other content. Nothing was written twice; open a new one.")


@transaction.atomic
def form(*, key: UUID, name: str, members: Sequence[Animal], by: User, today: date, at: datetime) -> Group:
    """Put animals that are in care into one group.

    :raises GroupRefused: when there are fewer than two, or one is not in care or in another group.
    """
    if known := Group.objects.filter(key=key).first():
        return known
    rows = list(
        Animal.objects.select_for_update(of=("self",)).filter(pk__in={one.pk for one in members}).order_by("pk")
    )
    if len(rows) < 2:
        raise GroupTooSmall
    for animal in rows:
        if animal.group_id is not None:
            raise GroupedAlready(animal)
        if not animal.stays.filter(discharged_on=None).exists():
            raise NotInCare(animal)
    group = Group.objects.create(key=key, name=name.strip(), since_on=today)
    for animal in rows:
        _join(animal, group, by=by, at=at)
    return group


@transaction.atomic
def admit_young(
    *,
    key: UUID,
    mother: Animal,
    names: Sequence[str],
    born_on: date,
    level: BoardingLevel | None,
    by: User,
    today: date,
    at: datetime,
) -> Group:
    """Admit young as born here on a day, with their mother, at her place; they and she are one group.

    :raises MotherNotInCare: when she is not in care.
    :raises BornAhead: when the day has not come yet, or she was not in care then.
    """
    stay = mother.stays.filter(discharged_on=None).select_related("place").first()
    if stay is None:
        raise MotherNotInCare(mother)
    if not stay.admitted_on <= born_on <= today:
        raise BornAhead
    mother = Animal.objects.select_for_update(of=("self",)).select_related("partner", "group").get(pk=mother.pk)
    said = {"species": mother.species, "sex": Animal.Sex.UNKNOWN, "partner": mother.partner, "born_on": born_on}
    group = mother.group or Group.objects.create(key=key, name=f"{_name(mother)} and her young", since_on=today)
    if mother.group is None:
        _join(mother, group, by=by, at=at)
    for number, name in enumerate(names):
        came = animals.admit(
            key=uuid5(key, f"young {number}"), name=name, about=f"born here, of {_name(mother)}", **said,
            admitted_on=born_on, level=level, place=stay.place, by=by, today=today, at=at,
        )  # fmt: skip
        young = Animal.objects.get(pk=came.animal_id)
        young.mother, young.is_born_here = mother, True
        young.save(update_fields=["mother", "is_born_here"])
        if young.group_id is None:
            _join(young, group, by=by, at=at)
    return group


@transaction.atomic
def give(
    *,
    key: UUID,
    group: Group,
    on: date,
    service: Service,
    by: User,
    today: date,
    at: datetime,
    quantity: Decimal = Decimal(1),
    order: Order | None = None,  # the one that it fulfills
    **said: Any,
) -> list[CareItem]:
    """Write down what all of a group got together; it is priced once and shared over its animals in care that day.

    :raises GroupRefused: when the group is split, the quantity too small, or the key belongs to something else.
    :raises Refusal: as `care.record_all`.
    """
    if known := GroupFact.objects.filter(key=key).first():
        items = list(known.items.order_by("group_part"))
        if (known.group_id, known.quantity, items[0].service_id, items[0].on) != (group.pk, quantity, service.pk, on):
            raise SentBefore
        return items
    if group.split_on is not None:
        raise SplitAlready
    members = members_on(group=group, on=on)
    if len(members) == 1:
        return [
            care.record(
                key=key, animal=members[0], on=on, service=service, quantity=quantity, order=order, **said, by=by,
                today=today, at=at,
            )
        ]  # fmt: skip
    if not members:
        raise SplitAlready
    shares = group_shares.quantities(quantity=quantity, of=len(members))
    if min(shares) <= 0:
        raise TooLittleToShare(len(members))
    fact = GroupFact.objects.create(key=key, group=group, quantity=quantity, count=len(members))
    facts = [
        care.Given(
            key=uuid5(key, animal.key), animal=animal, on=on, service=service, quantity=share, order=order,
            group_fact=fact, group_part=part, **said,
        )
        for part, (animal, share) in enumerate(zip(members, shares, strict=True))
    ]  # fmt: skip
    return care.record_all(facts=facts, by=by, today=today, at=at)


@transaction.atomic
def order(*, group: Group, on: date, **said: Any) -> Order:
    """Order something for all of a group together; it stands at the first of its animals. `said` as `orders.give`.

    :raises SplitAlready: when the group is split.
    """
    members = members_on(group=group, on=on)
    if group.split_on is not None or not members:
        raise SplitAlready
    return orders.give(animal=members[0], for_group=group, **said)


@transaction.atomic
def split(*, group: Group, by: User, today: date, at: datetime) -> Group:
    """Make a row of each animal again; what was ordered for all is ordered for each from then on.

    :raises SplitAlready: never twice: a split group sent again is returned as it is.
    """
    group = Group.objects.select_for_update().get(pk=group.pk)
    if group.split_on is not None:
        return group
    members = list(group.animals.order_by("pk"))
    for order in Order.objects.filter(for_group=group, stopped_on=None).select_related("service"):
        _order_for_each(
            order, [animal for animal in members if animal.pk != order.animal_id], by=by, today=today, at=at
        )
    for animal in members:
        _part(animal, by=by, at=at)
    group.split_on = today
    group.save(update_fields=["split_on"])
    return group


def leave(*, animal: Animal, by: User, today: date, at: datetime) -> None:
    """Take one animal out of its group; what is ordered for all stays with the others, and two are left or none."""
    group = Group.objects.select_for_update().filter(pk=animal.group_id).first()
    if group is None:
        return
    others = group.animals.exclude(pk=animal.pk).order_by("pk")
    if others.count() < 2:
        split(group=group, by=by, today=max(today, group.since_on), at=at)
    else:
        Order.objects.filter(for_group=group, animal=animal).update(animal=others[0])
        _part(animal, by=by, at=at)
    animal.group = None


def members_on(*, group: Group, on: date) -> list[Animal]:
    """Return the animals of a group that are in care on a day, in the order in which they share."""
    stays = Stay.objects.filter(admitted_on__lte=on).filter(Q(discharged_on=None) | Q(discharged_on__gt=on))
    return list(group.animals.filter(pk__in=stays.values("animal")).order_by("pk"))


def _join(animal: Animal, group: Group, *, by: User, at: datetime) -> None:
    animal.group = group
    animal.save(update_fields=["group"])
    history.note(animal=animal, what="group", what_id=group.pk, by=by, at=at, after={"group": group.name})


def _part(animal: Animal, *, by: User, at: datetime) -> None:
    before = {"group": str(animal.group)}
    history.note(animal=animal, what="group", what_id=animal.group_id or 0, by=by, at=at, before=before)
    Animal.objects.filter(pk=animal.pk).update(group=None)


def _order_for_each(order: Order, others: Sequence[Animal], *, by: User, today: date, at: datetime) -> None:
    """Leave an order for all to its own animal, and give the others the same one: what they got today counts for it."""
    waits = -(today - order.starts_on).days % order.every_days
    starts_on = max(order.starts_on, today + timedelta(days=waits))
    said = {"service": order.service, "rounds": order.rounds, "every_days": order.every_days, "words": order.words}
    for animal in others if order.until_on is None or order.until_on >= starts_on else ():
        key = uuid5(order.key, animal.key)
        own = orders.give(key=key, animal=animal, **said, starts_on=starts_on, until_on=order.until_on, by=by, at=at)
        CareItem.objects.filter(order=order, animal=animal, signing=None).update(order=own)
    order.for_group = None
    order.save(update_fields=["for_group"])


def _name(animal: Animal) -> str:
    return animal.name or animal.number
