"""Makes and ends the agreements by which partners pay a part of the care (F1).

AgreementRefused
├── AgreementsOverlap   the partner has one for these days already
├── PercentImpossible   not above 0 and at most 100
└── EndImpossible       an end before the beginning
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import Q

from config.refusal import Refusal
from ledger import posting
from ledger.models import Agreement, BilledMonth, Fund, traits


class AgreementRefused(Refusal):
    """The agreement was not made, or not ended; nothing was changed."""


class AgreementsOverlap(AgreementRefused):
    def __init__(self, other: Agreement) -> None:
        until = f"to {other.until_on}" if other.until_on else "without an end"
        super().__init__(
            f"This partner has an agreement from {other.from_on} {until}, and two never overlap. "
            "Nothing was changed. End that one first."
        )


class PercentImpossible(AgreementRefused):
    field = "percent"

    def __init__(self) -> None:
        super().__init__("An agreement's part is above 0 and at most 100 percent, with four digits at most.")


class EndImpossible(AgreementRefused):
    field = "until_on"

    def __init__(self) -> None:
        super().__init__("An agreement ends on or after the day on which it begins. Nothing was changed.")


@transaction.atomic
def agree(
    *,
    key: UUID,
    party_key: str,
    name: str,
    percent: Decimal | Fraction,
    from_on: date,
    by: int,
    of: str = "rest",
    kinds: Iterable[str] = (),
    until_on: date | None = None,
) -> Agreement:
    """Make an agreement; `name` names its fund when the partner has none yet ("Brindle Yard agreement").

    `percent` is 40 for two fifths, `of` is "rest" or "whole" (D1), `kinds` are codes of care (none: every kind).
    The same key gives back the agreement that it made.

    :raises AgreementRefused: when the terms cannot be or overlap another agreement.
    """
    posting.lock()
    if known := Agreement.objects.filter(key=key).first():
        return known
    exact = Fraction(percent)
    if not 0 < exact <= 100 or (exact * 10_000).denominator != 1:
        raise PercentImpossible
    if until_on and until_on < from_on:
        raise EndImpossible
    if other := _overlapping(party_key, from_on, until_on):
        raise AgreementsOverlap(other)
    agreement = Agreement(
        key=key,
        party_key=party_key,
        fund=_fund(key, party_key, name, from_on, by),
        percent=Decimal(exact.numerator) / Decimal(exact.denominator),
        of=Agreement.Of(of),
        kinds=traits.pack(kinds),
        from_on=from_on,
        until_on=until_on,
        made_by=by,
    )
    agreement.save(force_insert=True)
    return agreement


@transaction.atomic
def end(*, agreement_id: int, until_on: date) -> Agreement:
    """Let an agreement end with the day `until_on`.

    :raises AgreementRefused: when that day is before its beginning or beyond the next agreement.
    """
    posting.lock()
    agreement = Agreement.objects.get(id=agreement_id)
    if until_on < agreement.from_on:
        raise EndImpossible
    if other := _overlapping(agreement.party_key, agreement.from_on, until_on, but=agreement.id):
        raise AgreementsOverlap(other)
    agreement.until_on = until_on
    agreement.save(update_fields=["until_on"])
    return agreement


def _overlapping(party_key: str, from_on: date, until_on: date | None, but: int = 0) -> Agreement | None:
    others = Agreement.objects.filter(party_key=party_key).exclude(id=but)
    others = others.filter(Q(until_on=None) | Q(until_on__gte=from_on))
    if until_on:
        others = others.filter(from_on__lt=until_on + timedelta(days=1))
    return others.order_by("from_on").first()


def _fund(key: UUID, party_key: str, name: str, on: date, by: int) -> Fund:
    """One fund per partner, through which its shares pass; zero after every entry."""
    found = Fund.objects.filter(kind=Fund.Kind.AGREEMENT, party_key=party_key).first()
    return found or Fund.objects.create(
        key=uuid5(key, "fund"),
        kind=Fund.Kind.AGREEMENT,
        name=name,
        party_key=party_key,
        opened_on=on,
        opened_by=by,
    )


@transaction.atomic
def bill_month(*, party_key: str, month: date, on: date, by: int) -> BilledMonth:
    """Note that a partner's statement for a month is issued: sharing again never bills it for that month (E3)."""
    posting.lock()
    row, _ = BilledMonth.objects.get_or_create(
        party_key=party_key, month=month.replace(day=1), defaults={"billed_on": on, "by": by}
    )
    return row
