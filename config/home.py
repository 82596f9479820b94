"""How many decimals the house's own currency has, so that every template writes amounts alike.

The ledger tells where to ask. The answer is kept, because the currency is chosen once, at set-up.
"""

from collections.abc import Callable

BEFORE_SET_UP = 2

_source: Callable[[], int | None] | None = None
_kept: int | None = None


def ask(source: Callable[[], int | None]) -> None:
    """Name the function that knows; it answers None until there is a currency."""
    global _source
    _source = source


def digits() -> int:
    """Return the decimals of the home currency, two before the house is set up."""
    global _kept
    if _kept is None and _source is not None:
        _kept = _source()
    return BEFORE_SET_UP if _kept is None else _kept


def forget() -> None:
    """Ask again: a currency has just been chosen."""
    global _kept
    _kept = None
