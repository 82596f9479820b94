"""The medical line that donors read of a path: what happened on it, and which words such a line never holds (I3).

WordsUnfit   an amount, a promise, "saved", or a death told loudly
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from ledger.formulas import money

MOST = 300
HEALED = "healed"
OPERATION = "operation"

CODES = "|".join(sorted(money.MINOR_UNITS))
# What the line never says, and the sentence that says why: the clinic tells what has happened, quietly, without money.
UNFIT = (
    (rf"[$€£¥₹]|\b(?:dollars?|euros?|cents)\b|\d,\d{{3}}\b|\d[.,]\d{{2}}\b|\b(?:{CODES})\s?\d|\d\s?(?:{CODES})\b",
     "No amount stands in this line", "the paragraph around it has them from the books"),
    (r"(?-i:\bwill\b)|\b(?:shall|won[’']t|going to|promis\w*|guarant\w*|certainly|surely)\b|\w[’']ll\b",
     "This line promises nothing", "it tells what has happened so far"),
    (r"\bsav(?:e|es|ed|ing|ior)\b", "No animal is called saved", "tell what was done and whether it held"),
    (r"\beuthan\w*|\bcremat\w*|\bput (?:down|to sleep)\b", "A death is told quietly", "write “died”"),
)  # fmt: skip


class WordsUnfit(ValueError):
    """Words that donors are not to read in a medical line."""


@dataclass(frozen=True, kw_only=True, order=True)
class Happened:
    """One thing that changes what may be said of a path: `kind` is operation, event, decision or end."""

    on: date
    kind: str
    came_to: str
    beside: str = ""  # a complication, in words

    @property
    def code(self) -> str:
        return " ".join(word for word in (str(self.on), self.kind, self.came_to, self.beside and "complicated") if word)


@dataclass(frozen=True, kw_only=True)
class PathState:
    """How a path stands since a day: `code` tells this state from every other of the same path."""

    since: date
    code: str
    done: int
    healed: int
    ending: str


def state(*, parted_on: date, happened: Sequence[Happened], on: date) -> PathState:
    """Return how a path stood on a day; a later operation, complication, decision or end is another state.

    >>> first = Happened(on=date(2026, 9, 1), kind="operation", came_to="not_healed")
    >>> end = Happened(on=date(2026, 10, 1), kind="end", came_to="moved")
    >>> one = state(parted_on=date(2026, 8, 30), happened=[end, first], on=date(2026, 9, 30))
    >>> one.since.isoformat(), one.code, one.done, one.healed, one.ending
    ('2026-09-01', '2026-09-01 operation not_healed', 1, 0, '')
    """
    known = sorted(one for one in happened if one.on <= on)
    operations = [one for one in known if one.kind == OPERATION]
    return PathState(
        since=max([parted_on, *(one.on for one in known)]),
        code="; ".join(one.code for one in known) or "chosen",
        done=len(operations),
        healed=sum(one.came_to == HEALED for one in operations),
        ending=next((one.came_to for one in reversed(known) if one.kind == "end"), ""),
    )


def states(*, parted_on: date, happened: Sequence[Happened]) -> tuple[PathState, ...]:
    """Return each state of a path once, the present one last."""
    days = sorted({parted_on, *(max(one.on, parted_on) for one in happened)})
    return tuple(state(parted_on=parted_on, happened=happened, on=on) for on in days)


def checked(words: str) -> str:
    """Return a line as it is kept, on one line and closed by a full stop.

    >>> checked("Two operations  have been done; neither healed the hock")
    'Two operations have been done; neither healed the hock.'

    :raises WordsUnfit: when it names an amount, promises, says "saved", or tells a death loudly.
    """
    line = " ".join(words.split())
    for pattern, what, instead in UNFIT:
        if found := re.search(pattern, line, re.IGNORECASE):
            raise WordsUnfit(f"{what}: {instead}. Leave out “{found.group()}”; nothing was approved.")
    return f"{line}." if line and line[-1] not in ".!?”" else line
