"""Marks in a long list: the date and the number of the last row of a page, as one word of an address."""

from datetime import date


def write(on: date, number: int) -> str:
    """Return the mark of a row.

    >>> write(date(2026, 10, 13), 715)
    '2026-10-13.715'
    """
    return f"{on.isoformat()}.{number}"


def read(mark: str) -> tuple[date, int] | None:
    """Return the row that a mark names; None for what is no mark: the list then begins at its top.

    >>> read("2026-10-13.715"), read("x")
    ((datetime.date(2026, 10, 13), 715), None)
    """
    on, _, number = mark.rpartition(".")
    try:
        return date.fromisoformat(on), int(number)
    except ValueError:
        return None
