"""How long money lasts at the pace at which it was spent."""

from fractions import Fraction


def days_left(amount_minor: int, *, spent_minor: int, days: int) -> int | None:
    """Return for how many whole days an amount lasts, or None where nothing was spent.

    `spent_minor` was spent in `days` days. An amount of nothing lasts no day.

    >>> days_left(1200, spent_minor=1000, days=30), days_left(0, spent_minor=1000, days=30)
    (36, 0)
    >>> days_left(1200, spent_minor=0, days=30) is None
    True

    :raises ValueError: when there are no days.
    """
    if days < 1:
        raise ValueError("A pace needs at least one day.")
    if spent_minor <= 0:
        return None
    return max(0, int(Fraction(amount_minor * days, spent_minor)))
