"""Fiscal years: twelve months from the first of a month; the receipt year of a country may be another."""

from datetime import date, timedelta


def year_of(on: date, *, starts: int) -> tuple[date, date]:
    """Return the first and the last day of the fiscal year that holds a day. `starts` is a month, 1 to 12.

    >>> year_of(date(2026, 10, 14), starts=1)
    (datetime.date(2026, 1, 1), datetime.date(2026, 12, 31))
    >>> year_of(date(2026, 3, 31), starts=4), year_of(date(2026, 4, 1), starts=4)[0]
    ((datetime.date(2025, 4, 1), datetime.date(2026, 3, 31)), datetime.date(2026, 4, 1))

    :raises ValueError: when `starts` is no month.
    """
    first = date(on.year if on.month >= starts else on.year - 1, starts, 1)
    return first, first.replace(year=first.year + 1) - timedelta(days=1)


def words_of(first: date, last: date) -> str:
    """Name a fiscal year by the calendar years that it touches.

    >>> words_of(date(2026, 1, 1), date(2026, 12, 31)), words_of(date(2025, 4, 1), date(2026, 3, 31))
    ('2026', '2025/2026')
    """
    return str(first.year) if first.year == last.year else f"{first.year}/{last.year}"
