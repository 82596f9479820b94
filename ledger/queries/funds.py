"""The funds with what they have: a list, and the two classes of net assets."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from ledger.models import Fund
from ledger.queries.balances import with_balance

ORDER = {kind: place for place, kind in enumerate(("general", "animal", "purpose", "partner", "reserve"))}


@dataclass(frozen=True, kw_only=True)
class FundLine:
    fund_id: int
    name: str
    kind: str
    kind_words: str
    is_restricted: bool
    party_key: str
    subject_key: str
    given_for: str
    leftover: str
    traits: frozenset[str]
    opened_on: date
    closed_on: date | None
    balance_minor: int

    @property
    def takes_gifts(self) -> bool:
        return self.kind in ORDER and not self.closed_on

    @property
    def restriction_words(self) -> str:
        if self.kind not in ORDER:
            return "apart from money" if self.kind == Fund.Kind.GOODS else "passes through"
        return "restricted by its givers" if self.is_restricted else "unrestricted"


@dataclass(frozen=True, kw_only=True)
class Funds:
    """Funds that people give to; `aside` are those through which entries only pass, and donated goods."""

    lines: tuple[FundLine, ...]
    closed: tuple[FundLine, ...]
    aside: tuple[FundLine, ...]
    closed_count: int

    @property
    def together_minor(self) -> int:
        return sum(line.balance_minor for line in self.lines)


@dataclass(frozen=True, kw_only=True)
class Classes:
    """Net assets in two classes: only a donor's restriction restricts, never the holder's own earmark."""

    with_restrictions_minor: int
    without_restrictions_minor: int


def funds(*, with_closed: bool = False) -> Funds:
    """Return every open fund with its balance, one look at an index for each; the closed ones only when asked for."""
    lines = fund_lines(closed_on=None)
    ended = Fund.objects.filter(closed_on__isnull=False)
    closed = with_balance(ended).order_by("-closed_on", "-id") if with_closed else ()
    return Funds(
        lines=tuple(line for line in lines if line.kind in ORDER),
        closed=tuple(fund_line(fund) for fund in closed),
        aside=tuple(line for line in lines if line.kind not in ORDER),
        closed_count=ended.count(),
    )


def fund_lines(**scope) -> tuple[FundLine, ...]:
    rows = with_balance(Fund.objects.filter(**scope))
    lines = (fund_line(fund) for fund in rows)
    return tuple(sorted(lines, key=lambda line: (ORDER.get(line.kind, 9), line.name)))


def open_for_gifts() -> tuple[tuple[int, str], ...]:
    """Return the funds that take money, as choices for a form."""
    return tuple((line.fund_id, line.name) for line in fund_lines(closed_on=None, kind__in=ORDER))


def general() -> tuple[int, ...]:
    """Return the ids of the open funds of general money."""
    return tuple(line.fund_id for line in fund_lines(closed_on=None, kind=Fund.Kind.GENERAL))


def by_class() -> Classes:
    lines = fund_lines(closed_on=None, kind__in=ORDER)  # a fund closes when it is empty
    return Classes(
        with_restrictions_minor=sum(line.balance_minor for line in lines if line.is_restricted),
        without_restrictions_minor=sum(line.balance_minor for line in lines if not line.is_restricted),
    )


def fund_line(fund: Fund) -> FundLine:
    return FundLine(
        fund_id=fund.id,
        name=fund.name,
        kind=fund.kind,
        kind_words=Fund.Kind(fund.kind).label,
        is_restricted=fund.is_restricted,
        party_key=fund.party_key,
        subject_key=fund.subject_key,
        given_for=fund.given_for,
        leftover=fund.leftover,
        traits=frozenset(fund.traits.split()),
        opened_on=fund.opened_on,
        closed_on=fund.closed_on,
        balance_minor=fund.balance_minor,
    )


def general_fund() -> Fund:
    """Return the general fund that bears what no other fund does: the oldest that is open."""
    return Fund.objects.filter(kind=Fund.Kind.GENERAL, closed_on=None).order_by("opened_on", "id")[0]
