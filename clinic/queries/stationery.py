"""What the clinic's papers are written on: their head, and the words of its letters."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from clinic.formulas import letter_texts as formulas
from clinic.models import House
from clinic.queries import letter_texts
from clinic.queries.paper_head import PaperHead, paper_head


@dataclass(frozen=True, kw_only=True)
class Stationery:
    """Read once and used for as many papers as are made with it: what is changed meanwhile begins with the next."""

    head: PaperHead
    wordings: Mapping[str, str]

    def letter(self, code: str, **values: str) -> tuple[str, ...]:
        """Return the paragraphs of a letter, filled in."""
        known = {"clinic": self.head.house, "holder": self.head.holder}
        return formulas.filled(code=code, text=self.wordings[code], values=known | values)


def stationery_of(house: House) -> Stationery:
    """Return what this house's papers are written on now."""
    return Stationery(head=paper_head(house), wordings=letter_texts.wordings())
