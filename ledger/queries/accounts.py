"""The accounts in their order, with the accountant's own codes."""

from dataclasses import dataclass

from ledger.models import Account
from ledger.models.accounts import Kind


@dataclass(frozen=True, kw_only=True)
class AccountFacts:
    code: str
    name: str
    kind_words: str
    accountants_code: str


def accounts() -> tuple[AccountFacts, ...]:
    return tuple(
        AccountFacts(
            code=row.code,
            name=row.name,
            kind_words=Kind(row.kind).label,
            accountants_code=row.accountants_code,
        )
        for row in Account.objects.order_by("position")
    )
