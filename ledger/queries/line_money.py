"""One line of care in the books: who pays it and why, whose gifts those are, and how it was corrected (H4)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db.models import F, Sum
from django.db.models.functions import Coalesce

from ledger.models import Charge, Entry, Share, Use, traits
from ledger.queries import charges, one_donor
from ledger.queries.charges import ChargeLine, PayerLine, payer_line
from ledger.queries.entry_story import StoryStep, story_steps
from ledger.queries.reasons import reason_words


@dataclass(frozen=True, kw_only=True)
class PayerReason:
    payer: PayerLine
    reason: str


@dataclass(frozen=True, kw_only=True)
class GiftPart:
    """What one gift, or other income, pays of a line; `gift_id` is None for other income."""

    gift_id: int | None
    donor_id: int | None
    donor_name: str
    fund_name: str
    received_on: date
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class LineMoney:
    """A line that stands, or stood until it was corrected: `key` of its slip, `first_key` of that it all began with."""

    line: ChargeLine
    key: UUID
    traits: frozenset[str]
    first_key: UUID
    payers: tuple[PayerReason, ...]
    gifts: tuple[GiftPart, ...]
    steps: tuple[StoryStep, ...]
    instead_of: int | None  # the entry of the line that this one corrects
    now_at: int | None  # the entry of the line in its place, where it was corrected
    taken_back: bool


def line_money(*, number: int) -> LineMoney | None:
    """Return the line of care whose entry this is, a reversal leading to its line, or None where it is none."""
    charge = Charge.objects.select_related("entry", "reverses__entry").filter(entry=number).first()
    if charge is None:
        return None
    charge = charge.reverses or charge
    line = charges.of_keys(slip_keys=[charge.entry.key])[charge.entry.key]
    first = charge
    while first.replaces_id:
        first = Charge.objects.select_related("entry").get(id=first.replaces_id)
    successor = Charge.objects.filter(replaces=charge).values_list("entry", flat=True).first()
    return LineMoney(
        line=line,
        key=charge.entry.key,
        traits=traits.unpack(charge.traits),
        first_key=first.entry.key,
        payers=() if line.reversed_by else tuple(_payers(charge)),
        gifts=gifts_of(charges=[charge.id]),
        steps=tuple(story_steps(Entry.objects.get(id=charge.entry_id), charge)),
        instead_of=charge.replaces and charge.replaces.entry_id,
        now_at=successor,
        taken_back=line.reversed_by is not None,
    )


def _payers(charge: Charge):
    """A share that moved from one payer to another counts where it is now, under the reason for which it came."""
    rows = (
        Share.objects.filter(charge=charge)
        .annotate(why=Coalesce(F("posting__back_of__share__reason"), F("reason")))
        .values("payer", "fund_id", "why", name=F("fund__name"), kind=F("fund__kind"))
        .annotate(minor=Sum("amount_minor"), place=Sum("id"))
        .order_by("place")
    )
    nobody = sum(row["minor"] for row in rows if row["payer"] == Share.Payer.NOBODY)
    for row in rows:
        if row["minor"] and row["payer"] != Share.Payer.NOBODY:
            yield PayerReason(payer=payer_line(row, row["minor"]), reason=reason_words(row["why"]))
    if nobody:
        row = next(row for row in rows if row["payer"] == Share.Payer.NOBODY)
        yield PayerReason(payer=payer_line(row, nobody), reason=reason_words("nobody_paid"))


def gifts_of(*, charges: list[int]) -> tuple[GiftPart, ...]:
    """Return whose money pays these charges now, the oldest first."""
    uses = Use.objects.filter(posting__charge__in=charges, inflow__isnull=False)
    uses = uses | Use.objects.filter(posting__charge__reverses__in=charges, inflow__isnull=False)
    # The agreement's own money comes and goes within an entry: the partner, not a gift.
    uses = uses.exclude(inflow__fund__kind="agreement").exclude(inflow__fund__kind="goods")
    net: dict[int, int] = defaultdict(int)
    facts: dict[int, Mapping] = {}
    for row in uses.values(
        "inflow",
        "amount_minor",
        fund=F("inflow__fund__name"),
        gift=F("inflow__gift"),
        donor=one_donor.standing("inflow__gift__donor"),
        donor_name=one_donor.told("inflow__gift__donor"),
        received=F("inflow__received_on"),
    ):
        net[row["inflow"]] += row["amount_minor"]
        facts[row["inflow"]] = row
    found = [(facts[number], minor) for number, minor in net.items() if minor]
    return tuple(
        GiftPart(
            gift_id=row["gift"],
            donor_id=row["donor"],
            donor_name=row["donor_name"] or ("Somebody unknown" if row["gift"] else "Other income"),
            fund_name=row["fund"],
            received_on=row["received"],
            amount_minor=minor,
        )
        for row, minor in sorted(found, key=lambda pair: (pair[0]["received"], pair[0]["inflow"]))
    )
