"""Every way in which money comes in and goes out, each with the sum that waits there."""

from __future__ import annotations

from dataclasses import dataclass

from ledger.models.accounts import BANK, BILLS_TO_PAY, CLEARING, DUE_TO_PRACTICE, REFUNDABLE_ADVANCES
from ledger.queries.owed import now, parties_money

DOORS = (BANK, CLEARING, REFUNDABLE_ADVANCES, DUE_TO_PRACTICE, BILLS_TO_PAY)


@dataclass(frozen=True, kw_only=True)
class PartnerDue:
    """What a partner owes by agreement, and its deposit."""

    party_key: str
    name: str
    due_minor: int
    deposit_minor: int


@dataclass(frozen=True, kw_only=True)
class InAndOut:
    """What waits at each door, in minor units."""

    bank_minor: int
    at_giving_sites_minor: int
    owed_on_condition_minor: int
    due_to_practice_minor: int
    bills_to_pay_minor: int
    partners: tuple[PartnerDue, ...]


def in_and_out() -> InAndOut:
    sums: dict[str, int] = {}
    for (_, code), minor in now(DOORS).items():
        sums[code] = sums.get(code, 0) + minor
    return InAndOut(
        bank_minor=sums.get(BANK, 0),
        at_giving_sites_minor=sums.get(CLEARING, 0),
        owed_on_condition_minor=-sums.get(REFUNDABLE_ADVANCES, 0),
        due_to_practice_minor=-sums.get(DUE_TO_PRACTICE, 0),
        bills_to_pay_minor=-sums.get(BILLS_TO_PAY, 0),
        partners=tuple(
            PartnerDue(party_key=key, name=name, due_minor=due, deposit_minor=held)
            for key, name, due, held in parties_money()
        ),
    )
