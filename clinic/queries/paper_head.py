"""The head of a paper: whose it is, on which size it is printed, in which money it speaks, and who signs."""

from __future__ import annotations

from dataclasses import dataclass

from clinic.models import House
from clinic.queries import house as kept
from config.home import Signatory
from ledger.formulas import money
from ledger.queries import holder
from ledger.queries.holder import HolderFacts

NO_CURRENCY = "XXX"


@dataclass(frozen=True, kw_only=True)
class PaperHead:
    house: str
    house_address: str
    paper: str
    books: HolderFacts | None  # before the books are set up there is no holder: the house stands for it
    logo: str  # as a picture's source, empty where the mark of the house stands
    signatory: Signatory | None

    @property
    def holder(self) -> str:
        return self.books.name if self.books else self.house

    @property
    def currency(self) -> str:
        return self.books.currency if self.books else NO_CURRENCY

    @property
    def digits(self) -> int:
        return money.minor_digits(self.currency)


@dataclass(frozen=True, kw_only=True)
class Headed:
    """What a paper says by its head."""

    head: PaperHead

    @property
    def house(self) -> str:
        return self.head.house

    @property
    def house_address(self) -> str:
        return self.head.house_address

    @property
    def paper(self) -> str:
        return self.head.paper

    @property
    def holder(self) -> str:
        return self.head.holder

    @property
    def currency(self) -> str:
        return self.head.currency

    @property
    def digits(self) -> int:
        return self.head.digits


def paper_head(house: House) -> PaperHead:
    """Return the head of this house's papers as it is now; several papers of one run share it."""
    return PaperHead(
        house=house.name,
        house_address=house.address,
        paper=house.paper,
        books=holder.holder(),
        logo=kept.logo(house),
        signatory=kept.signatory(house),
    )
