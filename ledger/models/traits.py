"""Traits: opaque codes under which the clinic describes care, kept as one sorted line of text."""

from collections.abc import Iterable


class TraitUnreadable(ValueError):
    """A trait with a space in it, or without a letter, could not be told from its neighbors."""


def pack(traits: Iterable[str]) -> str:
    """Return the traits as one line.

    >>> pack({"species:dog", "dressing"}), pack([])
    ('dressing species:dog', '')

    :raises TraitUnreadable: when a trait is empty or holds a space.
    """
    known = sorted(set(traits))
    if any(not trait or trait.split() != [trait] for trait in known):
        raise TraitUnreadable("A trait is one word without spaces, such as species:dog.")
    return " ".join(known)


def unpack(line: str) -> frozenset[str]:
    return frozenset(line.split())
