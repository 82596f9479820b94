"""Recording a procedure: a priced fact, what makes it one, and what it took where that was not as planned."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from django.db import transaction

from clinic.actions import care
from clinic.formulas import time_costs
from clinic.models import CareItem, ItemPart, TimeExtra
from config.refusal import Refusal


class FreeAboveWorked(Refusal):
    pass


class TookBelowZero(Refusal):
    pass


@dataclass(frozen=True, kw_only=True)
class Took:
    """What one item took: minutes by grade (by id), of them those given free, how often each extra, and supplies."""

    minutes: Mapping[int, Decimal] = field(default_factory=dict)
    free: Mapping[int, Decimal] = field(default_factory=dict)
    times: Mapping[str, Decimal] = field(default_factory=dict)  # by the extra's words
    supplies: Mapping[int, Decimal] = field(default_factory=dict)


@transaction.atomic
def write_down(*, item: CareItem, took: Took) -> list[ItemPart]:
    """Keep what an item took; minutes are those said and, for each extra, its minutes times how often it held.

    Sent again for the same item it changes nothing.

    :raises TookBelowZero: when minutes, times or a supply are below zero.
    :raises FreeAboveWorked: when more minutes of a grade were given free than it worked.
    """
    known = list(item.parts.all())
    if known:
        return known
    said = [*took.minutes.values(), *took.free.values(), *took.times.values(), *took.supplies.values()]
    if min(said, default=0) < 0:
        raise TookBelowZero("Minutes, times and supplies are zero or more. Nothing was saved.")
    extras = list(TimeExtra.objects.filter(service=item.service).order_by("pk"))
    grades = {*took.minutes, *took.free, *(extra.grade_id for extra in extras if took.times.get(extra.words))}
    time = [_time(item, grade, took, [extra for extra in extras if extra.grade_id == grade]) for grade in grades]
    kit = [ItemPart(care_item=item, supply_id=supply, quantity=each) for supply, each in took.supplies.items()]
    return ItemPart.objects.bulk_create([*time, *kit])


def _time(item: CareItem, grade: int, took: Took, extras: list[TimeExtra]) -> ItemPart:
    base, free = took.minutes.get(grade, Decimal(0)), took.free.get(grade, Decimal(0))
    held = [
        time_costs.Extra(extra.words, Fraction(extra.minutes), Fraction(took.times[extra.words]))
        for extra in extras
        if took.times.get(extra.words)
    ]
    minutes = time_costs.time_equation(base=Fraction(base), extras=held)
    worked = Decimal(minutes.numerator) / Decimal(minutes.denominator)
    if free > worked:
        raise FreeAboveWorked(
            f"{free.normalize():f} minutes were given free, but only {worked.normalize():f} were worked. "
            "Correct one of them; nothing was saved."
        )
    words = ", ".join(
        [f"{base.normalize():f}", *(f"{one.words} {_plain(one.times)} × {_plain(one.minutes)}" for one in held)]
    )
    return ItemPart(care_item=item, grade_id=grade, quantity=worked, free=free, words=words[:200] if held else "")


def _plain(number: Fraction | int) -> str:
    exact = Fraction(number)
    return f"{(Decimal(exact.numerator) / Decimal(exact.denominator)).normalize():f}"


@transaction.atomic
def operate(
    *,
    given: care.Given,
    said: Mapping[str, object],
    took: Took | None,
    room_minutes: int | None,
    **by,
) -> CareItem:
    """Record a procedure as one fact; `said` is what `care.operate` takes beside the item, `by` who, today and when."""
    item = care.record_all(facts=[given], **by)[0]
    made = care.operate(item=item, **said)
    if room_minutes is not None and made.room_minutes is None:
        made.room_minutes = room_minutes
        made.save(update_fields=["room_minutes"])
    if took is not None:
        write_down(item=item, took=took)
    return item
