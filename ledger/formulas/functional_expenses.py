"""Expenses by what they are (their nature) and by what they are for (their function), footing both ways.

Source: ASU 2016-14 (ASC 958-720-45-15), published rule: an analysis of expenses by nature and by function in one place.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class NatureLine:
    """One nature over the functions, in their order."""

    words: str
    functions: tuple[str, ...]
    amounts: tuple[int, ...]

    @property
    def cells(self) -> tuple[tuple[str, int], ...]:
        return tuple(zip(self.functions, self.amounts, strict=True))

    @property
    def together_minor(self) -> int:
        return sum(self.amounts)


@dataclass(frozen=True, kw_only=True)
class CrossTable:
    functions: tuple[str, ...]
    lines: tuple[NatureLine, ...]

    @property
    def together(self) -> NatureLine:
        columns = zip(*(line.amounts for line in self.lines), strict=True)
        sums = tuple(sum(column) for column in columns) or (0,) * len(self.functions)
        return NatureLine(words="Together", functions=self.functions, amounts=sums)


def cross_table(
    *, natures: Sequence[str], functions: Sequence[str], spent: Iterable[tuple[str, str, int]]
) -> CrossTable:
    """Return (nature, function, minor units) as a table; a nature of which nothing was spent is left out.

    >>> made = cross_table(natures=("Procedures", "Fees"), functions=("Care", "Fundraising"),
    ...     spent=[("Procedures", "Care", 500), ("Fees", "Fundraising", 30), ("Procedures", "Care", -20)])
    >>> [(line.words, line.amounts, line.together_minor) for line in (*made.lines, made.together)]
    [('Procedures', (480, 0), 480), ('Fees', (0, 30), 30), ('Together', (480, 30), 510)]

    :raises KeyError: for a nature or a function that is not among those named.
    """
    sums = {nature: dict.fromkeys(functions, 0) for nature in natures}
    for nature, function, minor in spent:
        sums[nature][function] += minor
    return CrossTable(
        functions=tuple(functions),
        lines=tuple(
            NatureLine(words=nature, functions=tuple(functions), amounts=tuple(by.values()))
            for nature, by in sums.items()
            if any(by.values())
        ),
    )
