"""Writing down what an animal was given, and taking it back before the day is signed off."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from uuid import UUID

from django.db import transaction

from clinic.actions import follow_ups, history
from clinic.models import (
    Animal,
    CareItem,
    GroupFact,
    House,
    Observation,
    Order,
    Procedure,
    Service,
    SheetRow,
    Stay,
    User,
    WardSheet,
)
from config.days import day_year
from config.refusal import Refusal

MOST_OF_ANYTHING = Decimal(1440)
SENT_BEFORE = "This entry was sent before with other content. Nothing was written twice; enter it anew."


class QuantityOutOfReason(Refusal):
    field = "quantity"


class InTheFuture(Refusal):
    field = "on"


class BeforeAdmission(Refusal):
    field = "on"


class BeforeOpening(Refusal):
    field = "on"


class NightNotTaken(Refusal):
    field = "service"


class RowSigned(Refusal):
    pass


class LateWithoutSource(Refusal):
    field = "late_source"


class KeyUsedAgain(Refusal):
    pass


class AlreadyUndone(Refusal):
    pass


@dataclass(frozen=True, kw_only=True)
class Given:
    """One priced fact as a person writes it down; `key` was made when its form was shown."""

    key: UUID
    animal: Animal
    on: date
    service: Service
    quantity: Decimal = Decimal(1)
    order: Order | None = None
    round: str = ""
    given_free: bool = False
    emergency: bool = False
    path_key: str = ""
    given_by: str = ""
    late_source: str = ""
    group_fact: GroupFact | None = None  # the whole of which this is a part
    group_part: int | None = None


def record(*, by: User, today: date, at: datetime, **given) -> CareItem:
    """Write down one fact: `record_all` with one; `given` are the fields of `Given`."""
    return record_all(facts=[Given(**given)], by=by, today=today, at=at)[0]


@transaction.atomic
def record_all(*, facts: Sequence[Given], by: User, today: date, at: datetime) -> list[CareItem]:
    """Write down priced facts, all or none. A key sent again with the same content returns the fact it made.

    What is written for a day before `today` is a late entry and says where it comes from (B7); so is whatever is
    written for a row that is signed off already (B10). The number of queries does not grow with the facts.

    :raises QuantityOutOfReason: when a quantity is not above 0 and at most 1,440.
    :raises InTheFuture: when a day has not come yet.
    :raises BeforeAdmission: when an animal had not been admitted by then.
    :raises NightNotTaken: when it is a night: those follow from the stay (B1, B3).
    :raises BeforeOpening: when the house had not opened: what was earlier is history.
    :raises LateWithoutSource: when a late entry does not say where it comes from.
    :raises RowSigned: when the row is signed off and the entry is for today, so not late.
    :raises KeyUsedAgain: when a key belongs to another fact.
    """
    _hold({fact.on for fact in facts})
    known = {item.key: item for item in CareItem.objects.filter(key__in=[fact.key for fact in facts])}
    new = list({fact.key: fact for fact in facts if fact.key not in known}.values())
    _check(new, today=today)
    signed = _signed_rows(new)
    items = [_item(fact, is_signed=(fact.on, fact.animal.pk) in signed, by=by, today=today, at=at) for fact in new]
    for item in CareItem.objects.bulk_create(items):
        known[item.key] = item
    history.note_all(
        history.line(
            animal=item.animal,
            what="care item",
            what_id=item.pk,
            by=by,
            at=at,
            after={"service": item.service.name, "quantity": str(item.quantity), "on": str(item.on)},
        )
        for item in items
    )
    return [_same(known[fact.key], fact) for fact in facts]


def _item(fact: Given, *, is_signed: bool, by: User, today: date, at: datetime) -> CareItem:
    late = fact.on < today or is_signed
    if late and not fact.late_source:
        if is_signed and fact.on == today:
            raise RowSigned(
                f"{_name(fact.animal)}'s row of today is signed off. Write it as a late entry and say where it comes "
                "from; it is then charged when the late entry is accepted."
            )
        raise LateWithoutSource(
            "This is a late entry. Say where it comes from: paper, memory, or told by somebody. Nothing is lost."
        )
    return CareItem(
        key=fact.key,
        animal=fact.animal,
        on=fact.on,
        service=fact.service,
        quantity=fact.quantity,
        order=fact.order,
        round=fact.round,
        given_free=fact.given_free,
        emergency=fact.emergency,
        path_key=fact.path_key,
        group_fact=fact.group_fact,
        group_part=fact.group_part,
        given_by=fact.given_by,
        recorded_by=by,
        recorded_at=at,
        late=late,
        late_source=fact.late_source if late else "",
    )


@transaction.atomic
def undo(*, item: CareItem, by: User, at: datetime) -> CareItem:
    """Take a fact back before its row is signed off; it stays in the history. A part goes with its whole.

    :raises RowSigned: when it is signed off: then it is corrected, not undone.
    """
    _hold({item.on})
    item = CareItem.objects.select_related("animal", "service").get(pk=item.pk)
    if item.signing_id is not None:
        raise RowSigned(
            f"{item.service.name} for {_name(item.animal)} is signed off, so it is not undone. "
            "A signed-off line is corrected in the books: it is reversed and a new one written."
        )
    if item.undone_at is not None:
        return item
    for part in _whole(item):
        part.undone_at, part.undone_by = at, by
        part.save(update_fields=["undone_at", "undone_by"])
        follow_ups.drop_after(item=part, on=part.on, by=by, at=at)
        history.note(
            animal=part.animal, what="care item", what_id=part.pk, by=by, at=at, after={"undone": True}, why="undone"
        )
    return CareItem.objects.select_related("animal", "service").get(pk=item.pk)


def _whole(item: CareItem) -> list[CareItem]:
    """Return the fact, or all parts of the whole that it belongs to."""
    if item.group_fact_id is None:
        return [item]
    parts = list(CareItem.objects.filter(group_fact=item.group_fact_id).select_related("animal").order_by("group_part"))
    signed = next((part for part in parts if part.signing_id is not None), None)
    if signed:
        raise RowSigned(f"{_name(signed.animal)}’s part of it is signed off, so it is not undone.")
    return parts


@transaction.atomic
def observe(
    *,
    key: UUID,
    animal: Animal,
    on: date,
    kind: str,
    by: User,
    today: date,
    at: datetime,
    words: str = "",
    value: Decimal | None = None,
    maximum: Decimal | None = None,
    unit: str = "",
) -> Observation:
    """Write down a fact without price; it may still be written after the day is signed off.

    :raises KeyUsedAgain: when the key belongs to another observation.
    """
    known = Observation.objects.filter(key=key).first()
    if known:
        if (known.animal_id, known.on, known.kind, known.words, known.value) != (animal.pk, on, kind, words, value):
            raise KeyUsedAgain(SENT_BEFORE)
        return known
    _check([Given(key=key, animal=animal, on=on, service=Service())], today=today)
    seen = Observation.objects.create(
        key=key,
        animal=animal,
        on=on,
        kind=kind,
        words=words,
        value=value,
        maximum=maximum,
        unit=unit,
        recorded_by=by,
        recorded_at=at,
    )
    history.note(animal=animal, what="observation", what_id=seen.pk, by=by, at=at, after={"kind": kind})
    return seen


@transaction.atomic
def operate(
    *,
    item: CareItem,
    asa_class: int | None,
    vet: User | None,
    anesthesia_minutes: int | None = None,
    result: str = "",
) -> Procedure:
    """Add to a care item what makes it a procedure, and plan what is usually asked after it; once."""
    made, _ = Procedure.objects.get_or_create(
        care_item=item,
        defaults={"asa_class": asa_class, "vet": vet, "anesthesia_minutes": anesthesia_minutes, "result": result},
    )
    follow_ups.plan_after(item=item, by=item.recorded_by, at=item.recorded_at)
    return made


def _same(known: CareItem, fact: Given) -> CareItem:
    kept = (known.animal_id, known.on, known.service_id, known.quantity, known.order_id)
    kept += (known.given_free, known.emergency, known.path_key)
    said = (fact.animal.pk, fact.on, fact.service.pk, fact.quantity, fact.order and fact.order.pk)
    said += (fact.given_free, fact.emergency, fact.path_key)
    if kept != said:
        raise KeyUsedAgain(SENT_BEFORE)
    return known


def _check(facts: Sequence[Given], *, today: date) -> None:
    stays = Stay.objects.filter(animal__in={fact.animal.pk for fact in facts}).order_by("-admitted_on")
    admitted = dict(stays.values_list("animal_id", "admitted_on"))  # of several stays the first one remains
    late = any(fact.on < today for fact in facts)
    opening = House.objects.values_list("opening_on", flat=True).first() if late else None
    for fact in facts:
        if not 0 < fact.quantity <= MOST_OF_ANYTHING:
            raise QuantityOutOfReason(f"{fact.quantity} is not a quantity. Write a number above 0 and at most 1,440.")
        if fact.on > today:
            raise InTheFuture(
                f"{fact.on:%B} {fact.on.day} has not come yet. Choose today or an earlier day; nothing is lost."
            )
        if opening and fact.on < opening:
            raise BeforeOpening(
                f"The house opened on {day_year(opening)}. Care before that is history and is "
                "not charged; nothing was saved."
            )
        if fact.service.kind == Service.Kind.BOARDING:
            raise NightNotTaken(
                f"A night is never written down: it follows from the stay. Where {_name(fact.animal)} has left, write "
                "a visit on its page; where it is here again, admit it. Nothing was saved."
            )
        first = admitted.get(fact.animal.pk)
        if first is None or fact.on < first:
            came = f"came on {day_year(first)}" if first else "has not been admitted"
            raise BeforeAdmission(
                f"{_name(fact.animal)} {came}. Care before that is not the clinic's; nothing was saved."
            )


def _hold(days: set[date]) -> None:
    """Let one at a time write on the sheets of these days: a signature and a tick never cross."""
    held = set(WardSheet.objects.select_for_update().filter(on__in=days).order_by("on").values_list("on", flat=True))
    if days - held:
        WardSheet.objects.bulk_create([WardSheet(on=on) for on in sorted(days - held)], ignore_conflicts=True)
        list(WardSheet.objects.select_for_update().filter(on__in=days).order_by("on"))


def _signed_rows(facts: Sequence[Given]) -> set[tuple[date, int]]:
    rows = SheetRow.objects.filter(
        sheet__on__in={fact.on for fact in facts}, animal__in={fact.animal.pk for fact in facts}
    )
    return set(rows.values_list("sheet__on", "animal_id"))


def _name(animal: Animal) -> str:
    return animal.name or animal.number
