"""Who pays for care, in order (D1), and from which day it counts: the one function behind preview and posting.

A batch is shared line by line: what an earlier line used up is gone for the next one.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from django.db.models import Q

from ledger.formulas import allocation
from ledger.formulas.allocation import AGREEMENT, GENERAL, NAMES_ANIMAL, NOBODY, PARTNER, PURPOSE, Payer
from ledger.formulas.slips import Slip
from ledger.models import Agreement, Fund, traits
from ledger.queries.balances import with_balance
from ledger.queries.fund_line import FundLine, lines_since
from ledger.queries.periods import closed_through

RANK_OF = {
    Fund.Kind.ANIMAL: NAMES_ANIMAL,
    Fund.Kind.PURPOSE: PURPOSE,
    Fund.Kind.PARTNER: PARTNER,
    Fund.Kind.GENERAL: GENERAL,
}
ASIDE = (Fund.Kind.GIVEN, Fund.Kind.GOODS)
CODE_OF = {
    NAMES_ANIMAL: "names_animal",
    AGREEMENT: "agreement",
    PURPOSE: "purpose_fits",
    PARTNER: "partner_fund",
    GENERAL: "general_money",
    NOBODY: "nobody_paid",
}
REASONS = {
    "names_animal": "names the animal",
    "agreement": "agreement",
    "purpose_fits": "purpose fits",
    "partner_fund": "the partner's fund",
    "general_money": "general money",
    "nobody_paid": "nobody has paid this yet",
    "taken_over": "taken over",
    "given_back": "given back by a correction",
}


@dataclass(frozen=True, kw_only=True)
class ShareLine:
    """What one payer pays of a charge. `payer` is fund, agreement or nobody; `code` is the reason as it is kept."""

    payer: str
    rank: int
    fund_id: int | None
    label: str
    code: str
    reason: str
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class SharedSlip:
    """A slip with its payers and its book date; nothing is written yet."""

    slip: Slip
    on: date
    shares: tuple[ShareLine, ...]

    @property
    def nobody_minor(self) -> int:
        return sum(share.amount_minor for share in self.shares if share.payer == "nobody")


def preview(*, slips: Sequence[Slip], today: date) -> tuple[SharedSlip, ...]:
    """Share `slips` over their payers as signing off now would, and write nothing."""
    purses = Purses(slips=slips, today=today)
    return tuple(purses.share(slip) for slip in slips)


class Purses:
    """What every possible payer of a batch still has, line after line."""

    def __init__(self, *, slips: Sequence[Slip], today: date) -> None:
        self.today, self.closed = today, closed_through() or date.min
        self.funds, self.aside = _candidates(slips)
        self.left = {fund.id: max(fund.balance_minor, 0) for fund in self.funds}
        self.by_key: dict[tuple[int, str], list[Fund]] = defaultdict(list)
        for fund in self.funds:
            self.by_key[RANK_OF[fund.kind], fund.subject_key or fund.party_key].append(fund)
        self.purposes = [(fund, traits.unpack(fund.traits)) for fund in self.by_key[PURPOSE, ""]]
        self.agreements: dict[str, list[Agreement]] = defaultdict(list)
        parties = {slip.party_key for slip in slips if slip.party_key}
        for agreement in Agreement.objects.filter(party_key__in=parties).select_related("fund").order_by("from_on"):
            self.agreements[agreement.party_key].append(agreement)
        self.lines = self._lines(slips)

    def share(self, slip: Slip) -> SharedSlip:
        """Share one slip and take what its payers pay."""
        payers, who = self._payers(slip)
        parts = allocation.allocate(slip.asked_minor, payers)
        on = self._book_date(slip, [(who[part.key], part.amount_minor) for part in parts if part.key is not None])
        for part in parts:
            payer = who.get(part.key)
            if isinstance(payer, Fund):
                self.left[payer.id] -= part.amount_minor
                if payer.id in self.lines:
                    self.lines[payer.id].spend(on, part.amount_minor)
        return SharedSlip(slip=slip, on=on, shares=tuple(_line(part, who.get(part.key)) for part in parts))

    def _payers(self, slip: Slip) -> tuple[list[Payer], dict[int | None, Fund | Agreement]]:
        who: dict[int | None, Fund | Agreement] = {}
        payers = []
        for rank, fund in self._in_order(slip):
            if isinstance(fund, Agreement):
                percent = Fraction(fund.percent) / 100
                terms = Payer(key=len(who), rank=rank, percent=percent, of_whole=fund.of == Agreement.Of.WHOLE)
            elif not self.left[fund.id]:
                continue
            else:
                terms = Payer(key=len(who), rank=rank, most=self.left[fund.id])
            who[terms.key] = fund
            payers.append(terms)
        return payers, who

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
        for agreement in self.agreements.get(slip.party_key, ()):
            kinds = traits.unpack(agreement.kinds)
            begun = agreement.from_on <= slip.care_on
            lasts = agreement.until_on is None or slip.care_on <= agreement.until_on
            if begun and lasts and (not kinds or kinds & (slip.traits | {slip.kind})):
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


def _line(part: allocation.Part, payer: Fund | Agreement | None) -> ShareLine:
    code = CODE_OF[part.rank]
    if isinstance(payer, Agreement):
        percent = f"{payer.percent.normalize():f} %"
        of = "of the whole" if payer.of == Agreement.Of.WHOLE else "of what gifts naming the animal leave over"
        return ShareLine(
            payer="agreement",
            rank=part.rank,
            fund_id=payer.fund_id,
            label=payer.fund.name,
            code=code,
            reason=f"agreement: {percent} {of}",
            amount_minor=part.amount_minor,
        )
    return ShareLine(
        payer="nobody" if payer is None else "fund",
        rank=part.rank,
        fund_id=payer.id if payer else None,
        label=payer.name if payer else "Nobody yet",
        code=code,
        reason=REASONS[code],
        amount_minor=part.amount_minor,
    )
