"""What the words of a row's kind mean: that a gift went back, or that it is one of a series."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

CHARGEBACK, REFUND = "chargeback", "refund"
# In this order: what the bank took is no refund, whatever else the row says.
WENT_BACK: dict[str, tuple[str, ...]] = {
    CHARGEBACK: ("chargeback", "charged back", "dispute"),
    REFUND: ("refund", "returned", "reversal", "reversed", "cancel"),
}
RECURRING = ("recurring", "regular", "subscription", "weekly", "month", "quarter", "year", "annual")


def went_back(kind: str, *, words: Mapping[str, Sequence[str]] | None = None) -> str:
    """Return how a gift went back by what its row says, empty where the row is a gift.

    `words` are those of the source, for each way of going back; without them the usual ones count.

    >>> went_back("Refund (partial)"), went_back("Dispute lost"), went_back("monthly gift")
    ('refund', 'chargeback', '')
    >>> went_back("Storno", words={"refund": ["storno"]})
    'refund'
    """
    said = kind.casefold()
    for how, usual in WENT_BACK.items():
        if any(word.casefold() in said for word in (words or {}).get(how) or usual):
            return how
    return ""


def recurs(often: str) -> bool:
    """Tell whether a gift is one of a series.

    >>> recurs("Every month"), recurs("one-off"), recurs("")
    (True, False, False)
    """
    said = often.casefold()
    return any(word in said for word in RECURRING)
