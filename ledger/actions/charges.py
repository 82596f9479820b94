"""Care enters the books: a day's slips are shared and posted, and a line that was wrong is corrected (B9, B10).

PostingRefused
└── CareRefused
    ├── CareAhead          a day of care that has not come yet
    ├── CareCorrected      a line is corrected once: correct its successor
    └── SuccessorDiffers   a correction keeps the animal
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from uuid import UUID, uuid5

from django.db import transaction

from ledger import posting
from ledger.formulas.slips import Slip, SlipImpossible
from ledger.models import Charge, Entry, Fund, accounts, traits
from ledger.posting import Draft, Leg, Part, PostingRefused
from ledger.queries.sharing import Purses, SharedSlip

__all__ = ["CareAhead", "CareCorrected", "DayPosted", "LinePosted", "Slip", "SlipImpossible", "correct", "post_day"]


class CareRefused(PostingRefused):
    """Care that was not posted; the books were left as they were."""


class CareAhead(CareRefused):
    def __init__(self, slip: Slip, today: date) -> None:
        super().__init__(
            f"{slip.words}: its day of care, {slip.care_on}, is after today, {today}. Nothing was posted. "
            "Give the day on which it was done."
        )


class CareCorrected(CareRefused):
    def __init__(self) -> None:
        super().__init__("This line is corrected already. Nothing was changed. Correct the line that replaced it.")


class SuccessorDiffers(CareRefused):
    def __init__(self) -> None:
        super().__init__(
            "A corrected line stays with its animal. Nothing was changed. To move care to another animal, "
            "take this line back and enter it anew there."
        )


@dataclass(frozen=True, kw_only=True)
class LinePosted:
    """One slip in the books. `already` says that it had been posted before and nothing was added."""

    slip_key: UUID
    entry_number: int
    charge_id: int
    on: date
    nobody_minor: int
    already: bool


@dataclass(frozen=True, kw_only=True)
class DayPosted:
    """What was posted; `shared` are the new slips with their payers, as they were shared under the lock."""

    lines: tuple[LinePosted, ...]
    shared: tuple[SharedSlip, ...]
    asked_minor: int
    nobody_minor: int

    @property
    def entry_numbers(self) -> tuple[int, ...]:
        return tuple(line.entry_number for line in self.lines)


@dataclass(frozen=True, kw_only=True)
class Corrected:
    """A line taken back, and the line in its place when there is one."""

    reversal: Entry
    line: LinePosted | None


@transaction.atomic
def post_day(*, slips: Sequence[Slip], by: int, today: date, at: datetime) -> DayPosted:
    """Share each slip over its payers and post it as one entry, in the order given; all or none.

    A slip that came before with the same content is left as it stands.

    :raises CareAhead: when a day of care is after today.
    :raises KeyUsedBefore: when a key came before with other content.
    """
    return _post(slips, by=by, today=today, at=at)


@transaction.atomic
def correct(*, key: UUID, charge_id: int, slip: Slip | None, by: int, today: date, at: datetime, why: str) -> Corrected:
    """Take a posted line back and post `slip` in its place, both dated today, as one story (B10).

    :raises CareCorrected: when it has been corrected.
    :raises SuccessorDiffers: when the new line is for another animal.
    """
    posting.lock()
    charge = Charge.objects.select_related("entry").get(id=charge_id)
    if slip and slip.subject_key != charge.subject_key:
        raise SuccessorDiffers
    try:
        reversal = posting.reverse(entry=charge.entry, key=uuid5(key, "taken back"), on=today, by=by, at=at, why=why)
    except (posting.ReversedAlready, posting.ReversalReversed):
        raise CareCorrected from None
    if slip is None:
        return Corrected(reversal=reversal, line=None)
    day = _post([slip], by=by, today=today, at=at, replaces=charge, note=why)
    return Corrected(reversal=reversal, line=day.lines[0])


def _post(
    slips: Sequence[Slip], *, by: int, today: date, at: datetime, replaces: Charge | None = None, note: str = ""
) -> DayPosted:
    posting.lock()
    once = _each_once(slips, today)
    known = posting.already_posted({key: slip.sent for key, slip in once.items()})
    fresh = [slip for slip in once.values() if slip.key not in known]
    if replaces:
        fresh = [_dated_today(slip) for slip in fresh]
    purses = Purses(slips=fresh, today=today)
    shared = {slip.key: purses.share(slip) for slip in fresh}
    drafts = [_draft(line, given=purses.aside, replaces=replaces, note=note) for line in shared.values()]
    posted = {entry.key: entry for entry in posting.post_all(drafts, by=by, at=at, known=dict(known))} if drafts else {}
    charges = {draft.key: draft.charge for draft in drafts}
    charges |= {charge.entry.key: charge for charge in _charges_of(known)}
    lines = tuple(
        LinePosted(
            slip_key=slip.key,
            entry_number=(posted.get(slip.key) or known[slip.key]).id,
            charge_id=charges[slip.key].id,
            on=(posted.get(slip.key) or known[slip.key]).on,
            nobody_minor=shared[slip.key].nobody_minor if slip.key in shared else 0,
            already=slip.key in known,
        )
        for slip in slips
    )
    return DayPosted(
        lines=lines,
        shared=tuple(shared.values()),
        asked_minor=sum(slip.asked_minor for slip in slips),
        nobody_minor=sum(line.nobody_minor for line in lines),
    )


def _each_once(slips: Sequence[Slip], today: date) -> dict[UUID, Slip]:
    once: dict[UUID, Slip] = {}
    for slip in slips:
        if slip.care_on > today:
            raise CareAhead(slip, today)
        if once.setdefault(slip.key, slip) != slip:
            raise posting.KeyUsedBefore
    return once


def _charges_of(known: dict[UUID, Entry]):
    return Charge.objects.filter(entry__in=known.values()).select_related("entry") if known else ()


def _dated_today(slip: Slip) -> Slip:
    return Slip(**{name: getattr(slip, name) for name in slip.__dataclass_fields__ if name != "late"}, late=True)


def _draft(shared: SharedSlip, *, given: dict[str, int], replaces: Charge | None, note: str) -> Draft:
    slip = shared.slip
    legs, parts = _legs(shared, given)
    return Draft(
        key=slip.key,
        kind=Entry.Kind.CHARGE,
        on=shared.on,
        sent=slip.sent,
        legs=legs,
        parts=parts,
        charge=Charge(
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
            time_minor=slip.time_minor or None,
            owed_to="bill" if slip.owed_to == "bill" else None,
            replaces=replaces,
        ),
        subject=slip.subject_words,
        line=slip.words,
        note=note,
    )


def _legs(shared: SharedSlip, given: dict[str, int]) -> tuple[tuple[Leg, ...], tuple[Part, ...]]:
    slip = shared.slip
    legs, parts = shared_legs(shared)
    if slip.given_minor:
        legs += care_legs(kind=slip.kind, payer="given", fund_id=given[Fund.Kind.GIVEN], amount_minor=slip.given_minor)
    if slip.goods_minor:
        legs.append(
            Leg(
                debit=slip.kind,
                credit=accounts.GOODS_ON_HAND,
                fund_id=given[Fund.Kind.GOODS],
                amount_minor=slip.goods_minor,
                may_go_short=True,
            )
        )
    return tuple(legs), tuple(parts)


def shared_legs(shared: SharedSlip, *, charge: Charge | None = None, so_far: int = 0) -> tuple[list[Leg], list[Part]]:
    """Return the legs by which a slip's payers meet it, and their shares.

    `charge` is the line that they pay for, where the entry moves several, and `so_far` how many legs stand before.
    """
    legs: list[Leg] = []
    parts: list[Part] = []
    for share in shared.shares:
        made = care_legs(
            kind=shared.slip.kind,
            payer=share.payer,
            fund_id=share.fund_id,
            amount_minor=share.amount_minor,
            owed_to=shared.slip.owed_to,
        )
        legs += [replace(leg, charge=charge) for leg in made] if charge else made
        parts.append(
            Part(
                payer=share.payer,
                rank=share.rank,
                reason=share.code,
                amount_minor=share.amount_minor,
                fund_id=share.fund_id,
                leg=None if share.payer == "nobody" else so_far + len(legs),
                charge=charge,
                kept=share.kept,
            )
        )
    return legs, parts


def care_legs(
    *, kind: str, payer: str, fund_id: int | None, amount_minor: int, owed_to: str | None = None
) -> list[Leg]:
    """Return the legs by which a payer meets a part of a charge; the last one carries the share.

    `owed_to` is "bill" where an outsider is owed, and not the practice (B8).
    """
    if payer == "nobody" or fund_id is None:
        return []
    if payer == "given":
        return [Leg(debit=kind, credit=accounts.DONATED_SERVICES, fund_id=fund_id, amount_minor=amount_minor)]
    owed = Leg(
        debit=kind,
        credit=accounts.BILLS_TO_PAY if owed_to == "bill" else accounts.DUE_TO_PRACTICE,
        fund_id=fund_id,
        amount_minor=amount_minor,
        is_own=payer == "agreement",
    )
    if payer == "fund":
        return [owed]
    accrued = Leg(
        debit=accounts.DUE_FROM_PARTNERS,
        credit=accounts.PARTNER_PAYMENTS,
        fund_id=fund_id,
        amount_minor=amount_minor,
    )
    return [accrued, owed]
