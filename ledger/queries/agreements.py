"""A partner's agreements, under the key by which the books know it."""

from __future__ import annotations

from dataclasses import dataclass

from ledger.models import Agreement, Fund
from ledger.queries.party_balances import AgreementTerms, PartyBalance, agreement_terms, party_balance


@dataclass(frozen=True, kw_only=True)
class Agreements:
    party_key: str
    name: str
    fund_id: int | None
    terms: tuple[AgreementTerms, ...]
    balance: PartyBalance


def agreements(*, party_key: str) -> Agreements:
    """Return the agreements in order; `name` is that of their fund, empty before the first."""
    fund = Fund.objects.filter(kind=Fund.Kind.AGREEMENT, party_key=party_key).first()
    rows = Agreement.objects.filter(party_key=party_key).order_by("from_on")
    return Agreements(
        party_key=party_key,
        name=fund.name if fund else "",
        fund_id=fund.id if fund else None,
        terms=tuple(agreement_terms(row) for row in rows),
        balance=party_balance(party_key=party_key),
    )
