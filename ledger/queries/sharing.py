"""Who pays for care, in order (D1), and from which day it counts: the one function behind preview and posting.

A batch is shared line by line: what an earlier line used up is gone for the next one. What an animal's plan has set
aside pays for that animal first; what is set aside for others is not there (D4), but for emergency care and the relief
of pain, which may use general money and the fund of the animal's own partner all the same.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from django.db.models import Q

from ledger.formulas import allocation
from ledger.formulas.allocation import AGREEMENT, GENERAL, NAMES_ANIMAL, PARTNER, PURPOSE, Payer
from ledger.formulas.slips import Slip
from ledger.models import Agreement, BilledMonth, Commitment, Fund, StandingDecision, traits
from ledger.queries.balances import with_balance
from ledger.queries.fund_line import FundLine, lines_since
from ledger.queries.limits import Bound, Bounds, in_force
from ledger.queries.periods import closed_through
from ledger.queries.reasons import CODE_OF, reason_words

RANK_OF = {
    Fund.Kind.ANIMAL: NAMES_ANIMAL,
    Fund.Kind.PURPOSE: PURPOSE,
    Fund.Kind.PARTNER: PARTNER,
    Fund.Kind.GENERAL: GENERAL,
}
ASIDE = (Fund.Kind.GIVEN, Fund.Kind.GOODS)
URGENT = frozenset({"emergency", "pain_relief"})
DECIDED = 0


@dataclass(frozen=True, kw_only=True)
class ShareLine:
    """What one payer pays of a charge. `payer` is fund, agreement, given or nobody; `code` is the reason as it is kept.

    `kept` is what of it was set aside for the animal: commitments, each with its part.
    """

    payer: str
    rank: int
    fund_id: int | None
    label: str
    code: str
    reason: str
    amount_minor: int
    kept: tuple[tuple[Commitment, int], ...] = ()


@dataclass(frozen=True, kw_only=True)
class SharedSlip:
    """A slip with its payers and its book date; nothing is written yet.

    `notes` says why somebody pays less than they might: a limit, a ceiling, money set aside for others.
    """

    slip: Slip
    on: date
    shares: tuple[ShareLine, ...]
    notes: tuple[str, ...] = ()

    @property
    def nobody_minor(self) -> int:
        return sum(share.amount_minor for share in self.shares if share.payer == "nobody")


@dataclass
class _Offer:
    """One possible payer of a slip, with what holds it back."""

    payer: Fund | Agreement
    rank: int
    most: int | None
    holds: Bound | None = None
    bounds: tuple[Bound, ...] = ()


@dataclass
class _Round:
    """One slip while it is being shared."""

    offers: list[_Offer] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def preview(*, slips: Sequence[Slip], today: date) -> tuple[SharedSlip, ...]:
    """Share `slips` over their payers as signing off now would, and write nothing."""
    purses = Purses(slips=slips, today=today)
    return tuple(purses.share(slip) for slip in slips)


class Purses:
    """What every possible payer of a batch still has, line after line.

    `moved` is what the same entry moves beforehand, in minor units by fund: money that a returned gift gives back,
    less what leaves, and `restored` what of it goes back into plans. With `again`, a partner is not billed for a month
    whose statement is issued (E3).
    """

    def __init__(
        self,
        *,
        slips: Sequence[Slip],
        today: date,
        moved: Mapping[int, int] | None = None,
        again: bool = False,
        restored: Sequence[tuple[Commitment, int]] = (),
    ) -> None:
        self.today, self.closed = today, closed_through() or date.min
        self.funds, self.aside = _candidates(slips)
        self.left = {fund.id: max(fund.balance_minor + (moved or {}).get(fund.id, 0), 0) for fund in self.funds}
        self.by_key: dict[tuple[int, str], list[Fund]] = defaultdict(list)
        for fund in self.funds:
            self.by_key[RANK_OF[fund.kind], fund.subject_key or fund.party_key].append(fund)
        self.purposes = [(fund, traits.unpack(fund.traits)) for fund in self.by_key[PURPOSE, ""]]
        self.agreements: dict[str, list[Agreement]] = defaultdict(list)
        parties = {slip.party_key for slip in slips if slip.party_key}
        for agreement in Agreement.objects.filter(party_key__in=parties).select_related("fund").order_by("from_on"):
            self.agreements[agreement.party_key].append(agreement)
        self.billed = _billed(parties) if again else frozenset()
        self.aside_for = _commitments(self.funds, restored)
        self.set_aside = {fund: sum(left for _, left in kept) for fund, kept in self.aside_for.items()}
        self.bounds = Bounds(
            slips=slips,
            fund_ids=[
                *(fund.id for fund in self.funds),
                *(a.fund_id for all_ in self.agreements.values() for a in all_),
            ],
            today=today,
        )
        self.decisions = _standing(slips)
        self.lines = self._lines(slips)

    def give_back(self, slip: Slip, *, fund_id: int, amount_minor: int) -> None:
        """Let limits know that a fund no longer pays this much of the slip's care."""
        is_general = any(fund.id == fund_id for fund in self.by_key[GENERAL, ""])
        for bound in self.bounds.of(slip=slip, fund_id=fund_id, is_general=is_general):
            bound.left += amount_minor

    def share(self, slip: Slip, *, without_agreement: bool = False) -> SharedSlip:
        """Share one slip and take what its payers pay."""
        round_ = self._offers(slip, without_agreement)
        payers = [self._terms(place, offer) for place, offer in enumerate(round_.offers)]
        parts = allocation.allocate(slip.asked_minor, payers)
        paid = [(round_.offers[part.key], part.amount_minor) for part in parts if part.key is not None]
        rest = sum(part.amount_minor for part in parts if part.key is None)
        on = self._book_date(slip, [(offer.payer, minor) for offer, minor in paid])
        shares = [self._paid(slip, offer, minor, on) for offer, minor in paid]
        shares += self._decided(slip, rest)
        rest = slip.asked_minor - sum(share.amount_minor for share in shares)
        if rest:
            why = "+" + round_.notes[0] if round_.notes else ""
            shares.append(_nobody(rest, why))
        return SharedSlip(slip=slip, on=on, shares=tuple(shares), notes=tuple(reason_words(n) for n in round_.notes))

    def _offers(self, slip: Slip, without_agreement: bool) -> _Round:
        round_ = _Round()
        for rank, payer in self._in_order(slip):
            if without_agreement and rank == AGREEMENT:
                continue
            fund_id = payer.fund_id if isinstance(payer, Agreement) else payer.id
            bounds = self.bounds.of(slip=slip, fund_id=fund_id, is_general=rank == GENERAL)
            tightest = min(bounds, key=lambda bound: bound.left, default=None)
            if isinstance(payer, Fund):
                most = free = self._free(payer, slip)
                held = "set_aside" if free < self.left[payer.id] else ""
                if not self.left[payer.id]:
                    continue
            else:
                most, free, held = None, None, ""
            if tightest is not None and (most is None or tightest.left <= most):
                most, held = tightest.left, tightest.code
            if most == 0:
                round_.notes += [held] if held else []
                continue
            offer = _Offer(payer, rank, most, bounds=tuple(bounds))
            if held:
                offer.holds = tightest if tightest and most == tightest.left else Bound(code=held, left=most or 0)
            round_.offers.append(offer)
        return round_

    def _free(self, fund: Fund, slip: Slip) -> int:
        """What a fund has for this animal: all that no other plan has set aside, and what its own plan has."""
        left, kept = self.left[fund.id], self.set_aside.get(fund.id, 0)
        urgent = slip.traits & URGENT and (
            fund.kind == Fund.Kind.GENERAL or (fund.kind == Fund.Kind.PARTNER and fund.party_key == slip.party_key)
        )
        if not kept or urgent:
            return left
        own = sum(minor for row, minor in self.aside_for[fund.id] if row.subject_key == slip.subject_key)
        return min(left, max(left - kept, 0) + own)

    def _terms(self, place: int, offer: _Offer) -> Payer:
        if isinstance(offer.payer, Agreement):
            percent = Fraction(offer.payer.percent) / 100
            of_whole = offer.payer.of == Agreement.Of.WHOLE
            return Payer(key=place, rank=offer.rank, percent=percent, of_whole=of_whole, most=offer.most)
        return Payer(key=place, rank=offer.rank, most=offer.most)

    def _paid(self, slip: Slip, offer: _Offer, amount_minor: int, on: date) -> ShareLine:
        """Take what a payer pays, out of its own animal's plan first."""
        for bound in offer.bounds:
            bound.left -= amount_minor
        payer, code = offer.payer, CODE_OF[offer.rank]
        if offer.holds and amount_minor == offer.most:
            code = f"{code}+{offer.holds.code}"
        if isinstance(payer, Agreement):
            words = f"agreement: {payer.percent.normalize():f} % {_of(payer)}"
            reason = words + reason_words(code).removeprefix("agreement")
            label, fund_id, kind = payer.fund.name, payer.fund_id, "agreement"
            kept: list[tuple[Commitment, int]] = []
        else:
            label, fund_id, kind, reason = payer.name, payer.id, "fund", reason_words(code)
            kept = self._keep(payer.id, slip.subject_key, amount_minor)
            self.left[payer.id] -= amount_minor
            if payer.id in self.lines:
                self.lines[payer.id].spend(on, amount_minor)
        return ShareLine(
            payer=kind,
            rank=offer.rank,
            fund_id=fund_id,
            label=label,
            code=code,
            reason=reason,
            amount_minor=amount_minor,
            kept=tuple(kept),
        )

    def _keep(self, fund_id: int, subject_key: str, amount_minor: int) -> list[tuple[Commitment, int]]:
        taken = []
        rows = self.aside_for.get(fund_id, [])
        for place, (row, left) in enumerate(rows):
            part = min(left, amount_minor) if row.subject_key == subject_key else 0
            if part:
                rows[place] = (row, left - part)
                self.set_aside[fund_id] -= part
                amount_minor -= part
                taken.append((row, part))
        return taken

    def _decided(self, slip: Slip, rest: int) -> list[ShareLine]:
        """What a decision that stands for this animal takes of what nobody pays (D5)."""
        shares = []
        for row in in_force(self.decisions.get(slip.subject_key, ()), slip.care_on):
            part = rest if row.most_minor is None else min(rest, row.most_minor - row.used_minor)
            fund = self._decided_fund(row, slip)
            if not part or fund is None:
                continue
            rest -= part
            row.used_minor += part
            shares.append(
                ShareLine(
                    payer=row.take,
                    rank=DECIDED,
                    fund_id=fund[0],
                    label=fund[1],
                    code=f"standing:{row.id}",
                    reason=reason_words(f"standing:{row.id}"),
                    amount_minor=part,
                )
            )
        return shares

    def _decided_fund(self, row: StandingDecision, slip: Slip) -> tuple[int, str] | None:
        if row.take == StandingDecision.Take.GIVEN:
            return self.aside[Fund.Kind.GIVEN], "Given by the clinic"
        if (slip.party_key, slip.care_on.replace(day=1)) in self.billed:
            return None
        found = next(iter(self.agreements.get(slip.party_key, ())), None)
        return (found.fund_id, found.fund.name) if found else None

    def _in_order(self, slip: Slip) -> list[tuple[int, Fund | Agreement]]:
        agreement = self._agreement(slip)
        return [
            *((NAMES_ANIMAL, fund) for fund in self.by_key.get((NAMES_ANIMAL, slip.subject_key), ())),
            *((AGREEMENT, found) for found in [agreement] if found),
            *((PURPOSE, fund) for fund, wanted in self.purposes if wanted <= slip.traits),
            *((PARTNER, fund) for fund in (self.by_key.get((PARTNER, slip.party_key), ()) if slip.party_key else ())),
            *((GENERAL, fund) for fund in self.by_key[GENERAL, ""]),
        ]

    def _agreement(self, slip: Slip) -> Agreement | None:
        if (slip.party_key, slip.care_on.replace(day=1)) in self.billed:
            return None
        for agreement in in_force(self.agreements.get(slip.party_key, ()), slip.care_on):
            kinds = traits.unpack(agreement.kinds)
            if not kinds or kinds & (slip.traits | {slip.kind}):
                return agreement
        return None

    def _book_date(self, slip: Slip, paid: list[tuple[Fund | Agreement, int]]) -> date:
        """The day of care, if its period is open and every restricted fund had the money since; otherwise today."""
        if slip.late or slip.care_on >= self.today or slip.care_on <= self.closed:
            return self.today
        for payer, amount_minor in paid:
            line = self.lines.get(payer.id) if isinstance(payer, Fund) else None
            if line and line.lowest_since(slip.care_on) < amount_minor:
                return self.today
        return slip.care_on

    def _lines(self, slips: Sequence[Slip]) -> dict[int, FundLine]:
        earlier = [slip.care_on for slip in slips if slip.care_on < self.today and not slip.late]
        restricted = [fund.id for fund in self.funds if fund.is_restricted and fund.balance_minor]
        return lines_since(fund_ids=restricted, since=min(earlier)) if earlier and restricted else {}


def _candidates(slips: Sequence[Slip]) -> tuple[list[Fund], dict[str, int]]:
    """Return the open funds that could pay for any of the slips, in the order in which they pay (D1).

    Beside them, by kind, the ids of the two funds that pay for nothing: what is given, and goods.
    """
    subjects = {slip.subject_key for slip in slips}
    parties = {slip.party_key for slip in slips if slip.party_key}
    funds = with_balance(Fund.objects.filter(closed_on=None)).filter(
        Q(kind__in=(Fund.Kind.GENERAL, *ASIDE))
        | Q(kind=Fund.Kind.PURPOSE)
        | Q(kind=Fund.Kind.ANIMAL, subject_key__in=subjects)
        | Q(kind=Fund.Kind.PARTNER, party_key__in=parties)
    )
    aside = {fund.kind: fund.id for fund in funds if fund.kind in ASIDE}
    payers = sorted(
        (fund for fund in funds if fund.kind not in ASIDE),
        key=lambda fund: (
            RANK_OF[fund.kind],
            fund.use_by or date.max,
            -len(traits.unpack(fund.traits)),
            fund.opened_on,
            fund.id,
        ),
    )
    return payers, aside


def _billed(parties: set[str]) -> frozenset[tuple[str, date]]:
    return frozenset(BilledMonth.objects.filter(party_key__in=parties).values_list("party_key", "month"))


def _commitments(
    funds: Sequence[Fund], restored: Sequence[tuple[Commitment, int]]
) -> dict[int, list[tuple[Commitment, int]]]:
    ids = [fund.id for fund in funds]
    rows = {row.id: row for row in Commitment.objects.filter(fund_id__in=ids, ended_on=None, left_minor__gt=0)}
    left = {number: row.left_minor for number, row in rows.items()}
    for row, minor in restored:
        if row.ended_on is None:
            rows.setdefault(row.id, row)
            left[row.id] = left.get(row.id, row.left_minor) + minor
    kept: dict[int, list[tuple[Commitment, int]]] = defaultdict(list)
    for number, row in sorted(rows.items()):
        kept[row.fund_id].append((row, left[number]))
    return kept


def _standing(slips: Sequence[Slip]) -> dict[str, list[StandingDecision]]:
    found: dict[str, list[StandingDecision]] = defaultdict(list)
    subjects = {slip.subject_key for slip in slips}
    for row in StandingDecision.objects.filter(subject_key__in=subjects).order_by("id"):
        found[row.subject_key].append(row)
    return found


def _of(agreement: Agreement) -> str:
    whole = agreement.of == Agreement.Of.WHOLE
    return "of the whole" if whole else "of what gifts naming the animal leave over"


def _nobody(amount_minor: int, why: str) -> ShareLine:
    code = CODE_OF[allocation.NOBODY] + why
    return ShareLine(
        payer="nobody",
        rank=allocation.NOBODY,
        fund_id=None,
        label="Nobody yet",
        code=code,
        reason=reason_words(code),
        amount_minor=amount_minor,
    )
