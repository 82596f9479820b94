"""The open funds that money can be put into or taken from, for a person to choose among."""

from collections.abc import Iterable
from dataclasses import dataclass

from ledger.models import Fund
from ledger.queries.balances import with_balance

_KEPT_BY_THE_BOOKS = (Fund.Kind.AGREEMENT, Fund.Kind.GIVEN, Fund.Kind.GOODS)


@dataclass(frozen=True, kw_only=True)
class FundChoice:
    id: int
    name: str
    kind: str
    kind_words: str
    is_restricted: bool
    party_key: str
    subject_key: str
    balance_minor: int

    @property
    def pays_care(self) -> bool:
        """A reserve is never a payer: it feeds general money by transfers (D1, E5)."""
        return self.kind != Fund.Kind.RESERVE


def open_funds() -> tuple[tuple[int, str], ...]:
    """Return the open funds by name, as choices for a form."""
    return _named(fund_choices())


def unrestricted() -> tuple[tuple[int, str], ...]:
    """Return the open funds that nobody restricted, as choices for a form."""
    return _named(choice for choice in fund_choices() if not choice.is_restricted)


def _named(choices: Iterable[FundChoice]) -> tuple[tuple[int, str], ...]:
    return tuple(sorted(((choice.id, choice.name) for choice in choices), key=lambda choice: choice[1]))


def fund_choices() -> tuple[FundChoice, ...]:
    """Return the open funds in the order in which they were opened, each with its balance."""
    funds = with_balance(Fund.objects.filter(closed_on=None).exclude(kind__in=_KEPT_BY_THE_BOOKS))
    return tuple(
        FundChoice(
            id=fund.id,
            name=fund.name,
            kind=fund.kind,
            kind_words=Fund.Kind(fund.kind).label,
            is_restricted=fund.is_restricted,
            party_key=fund.party_key,
            subject_key=fund.subject_key,
            balance_minor=fund.balance_minor,
        )
        for fund in funds.order_by("id")
    )
