"""Which typed words hold a person's name: what an erasure looks for.

The whole name, an e-mail or an address betrays a person anywhere. A part of a name does so only beside their own
gifts: "Walker" elsewhere is a word.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

SHORTEST = 3  # letters of a part of a name
COMMON = frozenset({"and", "the", "for", "van", "von", "der", "den", "del", "los", "las", "estate", "trust", "family"})
ERASED = "[erased]"


@dataclass(frozen=True, kw_only=True)
class Person:
    """What is looked for: `whole` anywhere, `parts` beside their own gifts."""

    whole: tuple[str, ...]
    parts: tuple[str, ...]
    turned: tuple[tuple[str, ...], ...] = ()  # the parts of each name of several, in whatever order they stand

    def is_told_by(self, words: str) -> bool:
        """Whether words anywhere hold the whole name, as a bank may turn it round, an e-mail or an address."""
        return any(_within(one, words) for one in self.whole) or any(_all_within(one, words) for one in self.turned)

    def is_meant_by(self, words: str) -> bool:
        """Whether words beside their own gift hold any part of their name."""
        return self.is_told_by(words) or any(_within(one, words) for one in self.parts)

    def masked(self, words: str) -> str:
        """Return words with everything that is looked for anywhere taken out.

        >>> person(names=["Ann Reeve"], emails=["ann@mail.example"]).masked("ANN REEVE asked, see ann@mail.example")
        '[erased] asked, see [erased]'
        >>> person(names=["Ann Reeve"]).masked("REEVE, ANN ref 0123")
        '[erased], [erased] ref 0123'
        """
        found = [part for name in self.turned if _all_within(name, words) for part in name]
        for one in (*self.whole, *found):
            words = _pattern(one).sub(ERASED, words)
        return words


def person(*, names: Iterable[str], emails: Iterable[str] = (), addresses: Iterable[str] = ()) -> Person:
    """Return what to look for; a name of one word, and an address of one, are looked for as parts alone.

    >>> person(names=["Imke & Tobias Sandoval", "Imke"], addresses=["27 Weir Lane"])
    Person(whole=('Imke & Tobias Sandoval', '27 Weir Lane'), parts=('imke', 'tobias', 'sandoval'),
        turned=(('imke', 'tobias', 'sandoval'),))
    """
    names = list(names)
    long = [one.strip() for one in (*names, *addresses) if len(one.split()) > 1]
    whole = dict.fromkeys([*long, *(email.strip() for email in emails if email.strip())])
    split = [_parts(name) for name in names]
    return Person(
        whole=tuple(sorted(whole, key=len, reverse=True)),
        parts=tuple(dict.fromkeys(part for parts in split for part in parts)),
        turned=tuple(dict.fromkeys(parts for parts in split if len(parts) > 1)),
    )


def _parts(name: str) -> tuple[str, ...]:
    found = re.findall(r"[^\W\d_]+", name.casefold())
    return tuple(part for part in found if len(part) >= SHORTEST and part not in COMMON)


def blanked(cells: Sequence[str], *, who: Person, keeps: frozenset[int], is_theirs: bool) -> tuple[str, ...]:
    """Return a row without a person: of their own row only what `keeps` names is left, of another what is not theirs.

    >>> who = person(names=["Ann Reeve"])
    >>> blanked(["2026-10-01", "5.00", "Ann", "0123"], who=who, keeps=frozenset({0, 1}), is_theirs=True)
    ('2026-10-01', '5.00', '', '')
    >>> blanked(["Ben", "with Ann Reeve"], who=who, keeps=frozenset(), is_theirs=False)
    ('Ben', '')
    """
    if is_theirs:
        return tuple(cell if place in keeps and not who.is_meant_by(cell) else "" for place, cell in enumerate(cells))
    return tuple("" if who.is_told_by(cell) else cell for cell in cells)


def _all_within(parts: tuple[str, ...], words: str) -> bool:
    return all(_within(part, words) for part in parts)


def _within(one: str, words: str) -> bool:
    return bool(words) and _pattern(one).search(words) is not None


def _pattern(one: str) -> re.Pattern[str]:
    """The words of a name in their order, however they are spaced, and not inside a longer word."""
    spaced = r"\s+".join(re.escape(word) for word in one.split())
    return re.compile(rf"(?<!\w){spaced}(?!\w)", re.IGNORECASE)
