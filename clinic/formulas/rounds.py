"""The rounds of a ward's day, and which one it is.

The hours are common practice, without a source: the ward says "morning", not "07:30".
"""

from datetime import time

ROUNDS = ("morning", "midday", "evening", "night")
_BEGIN = ((time(4), "morning"), (time(11), "midday"), (time(16), "evening"), (time(21), "night"))


def present(clock: time) -> str:
    """Return the round that a time of day belongs to; the small hours belong to the night.

    >>> [present(time(hour)) for hour in (3, 4, 10, 11, 16, 21, 23)]
    ['night', 'morning', 'morning', 'midday', 'evening', 'night', 'night']
    """
    return next((name for begin, name in reversed(_BEGIN) if clock >= begin), "night")


def until(name: str) -> tuple[str, ...]:
    """Return the rounds of the day up to and with `name`.

    >>> until("evening")
    ('morning', 'midday', 'evening')
    """
    return ROUNDS[: ROUNDS.index(name) + 1]
