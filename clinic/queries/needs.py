"""One thing that needs a person, as the first page shows it."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Need:
    """One thing that needs a person, one step from its mend."""

    count: int
    words: str
    detail: str
    whose: str
    verb: str
    address: str
    late: bool


def names(words: list[str], most: int = 4) -> str:
    more = len(words) - most
    return ", ".join(words[:most]) + (f" and {more} more" if more > 0 else "")
