"""Days as people write them, and the month that follows one."""

from datetime import date, timedelta


def day_year(on: date) -> str:
    """
    >>> day_year(date(2026, 10, 4))
    'October 4, 2026'
    """
    return f"{on:%B} {on.day}, {on.year}"


def month_after(on: date) -> date:
    """Return the first day of the month after a day's.

    >>> print(month_after(date(2026, 12, 31)), month_after(date(2026, 1, 31)))
    2027-01-01 2026-02-01
    """
    return (on.replace(day=28) + timedelta(days=4)).replace(day=1)
