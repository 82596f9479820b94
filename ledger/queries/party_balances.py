"""What stands between each partner and the fund holder: its funds, what it owes by agreement, what nobody has paid."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from ledger.models import Agreement, Fund
from ledger.models.accounts import DUE_FROM_PARTNERS, NAME_OF
from ledger.queries.balances import with_balance
from ledger.queries.sums import balances_at, last_number
from ledger.queries.unpaid_care import unpaid_animals


@dataclass(frozen=True, kw_only=True)
class PartyFund:
    fund_id: int
    name: str
    is_restricted: bool
    balance_minor: int


@dataclass(frozen=True, kw_only=True)
class AgreementTerms:
    agreement_id: int
    percent: Decimal
    of: str
    of_words: str
    kinds: tuple[str, ...]
    from_on: date
    until_on: date | None

    @property
    def percent_words(self) -> str:
        return f"{self.percent.normalize():f} %"

    @property
    def kinds_words(self) -> str:
        return ", ".join(NAME_OF.get(kind, kind).lower() for kind in self.kinds) or "every kind"


@dataclass(frozen=True, kw_only=True)
class PartyBalance:
    party_key: str
    funds: tuple[PartyFund, ...]
    agreements: tuple[AgreementTerms, ...]
    due_minor: int
    unpaid_minor: int

    @property
    def balance_minor(self) -> int:
        return sum(fund.balance_minor for fund in self.funds)


def party_balances() -> tuple[PartyBalance, ...]:
    """Return every partner that the books know, by key."""
    funds: dict[str, list[PartyFund]] = defaultdict(list)
    for fund in with_balance(Fund.objects.filter(kind=Fund.Kind.PARTNER)).order_by("opened_on", "id"):
        funds[fund.party_key].append(
            PartyFund(
                fund_id=fund.id, name=fund.name, is_restricted=fund.is_restricted, balance_minor=fund.balance_minor
            )
        )
    terms: dict[str, list[AgreementTerms]] = defaultdict(list)
    for agreement in Agreement.objects.order_by("from_on"):
        terms[agreement.party_key].append(agreement_terms(agreement))
    unpaid: dict[str, int] = defaultdict(int)
    for animal in unpaid_animals():
        unpaid[animal.party_key] += animal.amount_minor
    due = _due()
    keys = sorted(({*funds, *terms, *unpaid, *due}) - {""})
    return tuple(
        PartyBalance(
            party_key=key,
            funds=tuple(funds[key]),
            agreements=tuple(terms[key]),
            due_minor=due.get(key, 0),
            unpaid_minor=unpaid[key],
        )
        for key in keys
    )


def party_balance(*, party_key: str) -> PartyBalance:
    """Return one partner's, empty where the books know nothing of it yet."""
    for balance in party_balances():
        if balance.party_key == party_key:
            return balance
    return PartyBalance(party_key=party_key, funds=(), agreements=(), due_minor=0, unpaid_minor=0)


def agreement_terms(agreement: Agreement) -> AgreementTerms:
    return AgreementTerms(
        agreement_id=agreement.id,
        percent=agreement.percent,
        of=agreement.of,
        of_words=Agreement.Of(agreement.of).label,
        kinds=tuple(agreement.kinds.split()),
        from_on=agreement.from_on,
        until_on=agreement.until_on,
    )


def _due() -> dict[str, int]:
    partners = dict(Fund.objects.filter(kind=Fund.Kind.AGREEMENT).values_list("id", "party_key"))
    standing = balances_at(on=date.max, as_of=last_number(), accounts=(DUE_FROM_PARTNERS,))
    return {partners[fund_id]: minor for (fund_id, _), minor in standing.items() if fund_id in partners}
