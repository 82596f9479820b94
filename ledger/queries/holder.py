"""Whose books these are, and in which currency."""

from dataclasses import dataclass

from ledger.formulas.money import minor_digits
from ledger.models import Holder


@dataclass(frozen=True, kw_only=True)
class HolderFacts:
    kind: str
    name: str
    number: str
    country: str
    currency: str
    fiscal_year_starts: int

    @property
    def is_charity(self) -> bool:
        return self.kind != Holder.Kind.PRACTICE

    @property
    def digits(self) -> int:
        """The decimals of the currency."""
        return minor_digits(self.currency)


def holder() -> HolderFacts | None:
    """Return the fund holder, or None before the books are set up."""
    row = Holder.objects.first()
    if row is None:
        return None
    return HolderFacts(**{name: getattr(row, name) for name in HolderFacts.__dataclass_fields__})


def digits() -> int | None:
    """Return the decimals of the books' currency, or None before they are set up."""
    facts = holder()
    return facts.digits if facts else None
