"""Care nobody has paid: one row per animal, with its oldest day (D5)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import F

from ledger.models import Unpaid
from ledger.queries import charges
from ledger.queries.charges import ChargeLine


@dataclass(frozen=True, kw_only=True)
class UnpaidAnimal:
    subject_key: str
    party_key: str
    subject_words: str
    amount_minor: int
    oldest_on: date
    lines: int


@dataclass(frozen=True, kw_only=True)
class UnpaidLine:
    charge: ChargeLine
    amount_minor: int


def unpaid_animals(*, party_key: str | None = None, until_on: date | None = None) -> tuple[UnpaidAnimal, ...]:
    """Return every animal with care, of days until `until_on`, that nobody has paid, the oldest day first."""
    scope = {"charge__party_key": party_key} if party_key is not None else {}
    if until_on is not None:
        scope["charge__care_on__lte"] = until_on
    open_charges = (
        Unpaid.objects.filter(amount_minor__gt=0, **scope)
        .values(
            "charge_id",
            minor=F("amount_minor"),
            subject=F("charge__subject_key"),
            party=F("charge__party_key"),
            on=F("charge__care_on"),
            words=F("charge__entry__words__subject"),
        )
        .order_by("on", "charge_id")
    )
    animals: dict[str, list[dict]] = {}
    for row in open_charges:
        animals.setdefault(row["subject"], []).append(row)
    return tuple(
        UnpaidAnimal(
            subject_key=subject_key,
            party_key=rows[-1]["party"],
            subject_words=rows[-1]["words"] or "",
            amount_minor=sum(row["minor"] for row in rows),
            oldest_on=rows[0]["on"],
            lines=len(rows),
        )
        for subject_key, rows in animals.items()
    )


def unpaid_of_subject(*, subject_key: str) -> tuple[UnpaidLine, ...]:
    """Return an animal's lines with a part that nobody has paid, by day of care."""
    return tuple(
        UnpaidLine(charge=line, amount_minor=payer.amount_minor)
        for line in charges.of_subject(subject_key=subject_key).lines
        if line.reverses is None and line.reversed_by is None
        for payer in line.payers
        if payer.payer == "nobody"
    )
