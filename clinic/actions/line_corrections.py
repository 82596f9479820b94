"""Corrects a line of care after its row was signed: a reversal and a new line, told as one story (B10).

Refusal
└── CorrectionRefused
    ├── NotALine        the entry is no line of care of an animal here
    ├── NothingChanged  the line says that already
    ├── ShelfShort      more than is on the shelf
    ├── PartOfAWhole    another quantity of what a group got together
    └── PriceGone       what was given has no price on its day any more
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from uuid import UUID, uuid5

from django.db import transaction

from clinic.actions import history, lots, stock_use
from clinic.models import Animal, House, User
from clinic.queries.day_prices import PricedLine
from clinic.queries.line_story import LineStory, line_story
from clinic.queries.priced_lines import priced_line
from config.refusal import Refusal
from ledger.actions import charges
from ledger.actions.charges import Corrected, LinePosted, Slip, SlipImpossible
from ledger.queries.line_money import line_money


class CorrectionRefused(Refusal):
    """Nothing was corrected; the books were left as they were."""


class NotALine(CorrectionRefused):
    def __init__(self) -> None:
        super().__init__("This entry is no line of care of an animal here. Nothing was changed.")


class NothingChanged(CorrectionRefused):
    field = "quantity"

    def __init__(self) -> None:
        super().__init__("The line says so already. Nothing was changed. Write how many there really were.")


class ShelfShort(CorrectionRefused):
    field = "quantity"

    def __init__(self, words: str) -> None:
        super().__init__(
            f"{words[:1].upper()}{words[1:]}. Nothing was changed. Count the shelf, or enter what arrived."
        )


class PartOfAWhole(CorrectionRefused):
    field = "quantity"

    def __init__(self, count: int) -> None:
        super().__init__(
            f"This is a part of what {count} animals got together, priced once. Nothing was changed. "
            "Take the part back (write 0), and enter what this animal got as a late entry."
        )


class PriceGone(CorrectionRefused):
    field = "quantity"

    def __init__(self, words: str) -> None:
        super().__init__(
            f"{words} cannot be priced anew for that day. Nothing was changed. "
            "Take the line back whole (write 0), and enter what was given as a late entry."
        )


@transaction.atomic
def correct_line(
    *, key: UUID, number: int, quantity: Decimal, why: str, by: User, house: House, today: date, at: datetime
) -> Corrected:
    """Put `quantity` in the place of what the line says, or nothing for 0; both entries are dated today.

    The new line takes the price list of its day of care and today's payers.

    :raises CorrectionRefused: when there is no such line, nothing changes, or it has no price.
    :raises CareRefused: when it was corrected before.
    """
    story = line_story(number=number, house=house)
    if story is None:
        raise NotALine
    lots.hold()
    if again := _sent_before(story, key=key, why=why, by=by, today=today, at=at):
        return again
    if quantity == story.money.line.quantity:
        raise NothingChanged
    whole = story.items[0].group_fact if story.items else None
    if whole and quantity:
        raise PartOfAWhole(whole.count)
    if whole is None:  # what a group used up stays used
        stock_use.put_back(charge_key=story.money.key, on=today, by=by, at=at)
    priced = _priced(story, quantity, key) if quantity else None
    slip = _slip(story, priced) if priced else None
    done = charges.correct(
        key=key, charge_id=story.money.line.charge_id, slip=slip, by=by.pk, today=today, at=at, why=why
    )
    if priced and slip:
        stock_use.use_up(lines=[priced], on=slip.care_on, by=by, at=at)
    history.note(
        animal=Animal.objects.get(pk=story.animal_id),
        what="line of care",
        what_id=number,
        by=by,
        at=at,
        before={"quantity": f"{story.money.line.quantity.normalize():f}", "on": str(story.care_on)},
        after={"quantity": f"{quantity.normalize():f}"},
        why=why[:200],
    )
    return done


def _sent_before(story: LineStory, *, key: UUID, why: str, by: User, today: date, at: datetime) -> Corrected | None:
    """Return what this key made before: the shelf has moved since, so the line cannot be priced again to compare."""
    made = line_money(number=story.money.now_at) if story.money.now_at else None
    if made is None or made.key != uuid5(key, "in its place"):
        return None
    line = made.line
    done = charges.correct(
        key=key, charge_id=story.money.line.charge_id, slip=None, by=by.pk, today=today, at=at, why=why
    )
    nobody = sum(one.payer.amount_minor for one in made.payers if one.payer.payer == "nobody")
    return replace(
        done,
        line=LinePosted(
            slip_key=made.key,
            entry_number=line.entry_number,
            charge_id=line.charge_id,
            on=line.on,
            nobody_minor=nobody,
            already=True,
        ),
    )


def _priced(story: LineStory, quantity: Decimal, key: UUID) -> PricedLine:
    """Price the line anew, after what it took is on the shelf again."""
    line = story.money.line
    if story.service is None:
        raise PriceGone(line.words)
    try:
        priced = priced_line(
            animal=Animal.objects.select_related("partner").get(pk=story.animal_id),
            service=story.service,
            quantity=quantity,
            items=story.items,
            key=uuid5(key, "in its place"),
            on=line.care_on,
        )
    except SlipImpossible as problem:
        raise CorrectionRefused(f"{problem} Nothing was changed.") from None
    if priced.used.short:
        raise ShelfShort(priced.used.short.words)
    return priced


def _slip(story: LineStory, priced: PricedLine) -> Slip:
    """Whom and what the line is for stays as it was when it was signed."""
    line = story.money.line
    if priced.slip is None:
        raise PriceGone(line.words)
    kept = {"party_key": line.party_key, "plan_key": line.plan_key, "traits": story.money.traits}
    said = {name: getattr(priced.slip, name) for name in Slip.__dataclass_fields__}
    return Slip(**{**said, **kept, "words": line.words, "subject_words": line.subject_words})
