"""The dice of an invented past: one seed, one past, whatever the machine."""

from collections.abc import Sequence
from random import Random
from typing import TypeVar
from uuid import UUID

T = TypeVar("T")
FIRST = (
    "Ambrose", "Bettina", "Caspar", "Delphine", "Elias", "Frauke", "Gustav", "Henrike", "Ivo", "Jorinde", "Konrad",
    "Lioba", "Magnus", "Nadine", "Osric", "Petra", "Quentin", "Rosalind", "Silas", "Tamsin", "Ulrika", "Valentin",
    "Wendeline", "Xaver", "Yorick", "Zelda",
)  # fmt: skip
LAST = (
    "Abernell", "Brockhurst", "Calloway", "Dunmore", "Eastgate", "Farthing", "Gladwell", "Harrowby", "Ingleside",
    "Jessop", "Kestrell", "Lockwood", "Marlowe", "Nightingale", "Oakhanger", "Pemberly", "Quillfeather", "Ravenscar",
    "Sedgemoor", "Thistlewood", "Underhill", "Vantongeren", "Wetherby", "Yarrow",
)  # fmt: skip
ANIMALS = (
    "Acorn", "Bramble", "Cinder", "Dapple", "Ember", "Fern", "Ginger", "Hazel", "Inky", "Juniper", "Kipper", "Lark",
    "Mallow", "Nettle", "Otter", "Pebble", "Quince", "Rowan", "Sorrel", "Teasel", "Umber", "Velvet", "Willow", "Yarn",
)  # fmt: skip


class Chances:
    """Draws by weights in whole numbers, and keys that are the same at every building."""

    def __init__(self, seed: int) -> None:
        self._dice = Random(seed)  # noqa: S311  an invented past is no secret

    def key(self) -> UUID:
        return UUID(int=self._dice.getrandbits(128), version=4)

    def one_in(self, count: int) -> bool:
        return self._dice.randrange(count) == 0

    def of_hundred(self, percent: int) -> bool:
        return self._dice.randrange(100) < percent

    def between(self, least: int, most: int) -> int:
        return self._dice.randrange(least, most + 1)

    def one_of(self, things: Sequence[T]) -> T:
        return things[self._dice.randrange(len(things))]

    def weighted(self, table: Sequence[tuple[T, int]]) -> T:
        place = self._dice.randrange(sum(weight for _, weight in table))
        for thing, weight in table:
            place -= weight
            if place < 0:
                return thing
        raise AssertionError("the weights sum to what was drawn below")

    def person(self) -> str:
        return f"{self.one_of(FIRST)} {self.one_of(LAST)}"

    def animal(self) -> str:
        return self.one_of(ANIMALS)
