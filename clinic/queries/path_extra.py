"""What one way costs more than the other, told also in days of boarding and in single procedures at today's prices."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from clinic.formulas.path_figures import Figures
from clinic.queries.path_ahead import one_decimal
from clinic.queries.path_plan import PricedPath
from ledger.formulas.money import half_up


@dataclass(frozen=True, kw_only=True)
class Extra:
    """Going on by the cheapest rule against converting now. The measures are empty where nothing measures them."""

    amount_minor: int
    is_more: bool
    days: str
    level: str
    singles: str


def extra(*, priced: PricedPath, found: Figures) -> Extra | None:
    """Return the difference in other measures, or None where both ways cost the same."""
    apart = -found.going_on.less_minor
    if apart == 0:
        return None
    measure = next((one for one in (*priced.left, priced.single) if one.step.level and one.boarding_minor), None)
    return Extra(
        amount_minor=abs(apart),
        is_more=apart > 0,
        days=one_decimal(abs(apart) / measure.boarding_minor) if measure else "",
        level=measure.step.level.name.lower() if measure else "",
        singles=_singles(Fraction(abs(apart), found.convert_minor)) if found.convert_minor else "",
    )


def _singles(ratio: Fraction) -> str:
    """
    >>> _singles(Fraction(530, 2267)), _singles(Fraction(3, 2))
    ('23 % of the single procedure with its days', '1.5 single procedures with their days')
    """
    if ratio < 1:
        return f"{one_decimal(Fraction(half_up(ratio * 100)))} % of the single procedure with its days"
    return (
        f"{one_decimal(ratio)} single procedures with their days" if ratio > 1 else "one single procedure with its days"
    )
