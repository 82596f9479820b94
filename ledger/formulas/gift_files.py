"""What the rows of a gift file say, or one sentence why a row cannot stand."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from ledger.formulas.gift_kinds import REFUND, recurs, went_back
from ledger.formulas.slips import MOST_MINOR
from ledger.formulas.typed_cells import CannotStand, Reading, amount, day, told

# What a column may hold, with the words by which its head is known.
MEANINGS: dict[str, tuple[str, ...]] = {
    "on": ("date", "received", "day", "donation date", "gift date", "created"),
    "gross": ("gross", "amount", "gift", "donation", "total"),
    "fee": ("fee", "fees", "charge", "cost"),
    "net": ("net", "payout", "net amount"),
    "donor_number": ("donor id", "donor number", "supporter id", "supporter number", "member number"),
    "name": ("name", "donor", "supporter", "full name"),
    "email": ("email", "e-mail", "mail"),
    "address": ("address", "postal address"),
    "original": ("original", "original reference", "refund of", "refunded"),
    "reference": ("reference", "id", "transaction", "transaction id", "number"),
    "fund": ("fund", "fund name"),
    "words": ("comment", "message", "note", "for", "purpose", "words", "designation"),
    "kind": ("kind", "type", "status"),
    "often": ("frequency", "often", "recurring", "how often"),
}
NEEDED = ("on", "gross")
NEEDED_AT_OPENING = ("gross",)
EARLIEST = 1900


@dataclass(frozen=True, kw_only=True, slots=True)
class GiftRow:
    """One row, its amount above zero. `back` says how a gift went back; then `original` is the gift's own reference
    where the row has one, and the fee what the site asks for it: below zero, what it gives back of its fee.
    """

    line: int
    on: date
    gross_minor: int
    fee_minor: int
    name: str
    email: str
    address: str
    reference: str
    words: str
    number: str = ""  # of the donor, by the site
    back: str = ""
    original: str = ""
    often: str = ""
    fund: str = ""  # by its name

    @property
    def recurs(self) -> bool:
        return recurs(self.often)


def guessed(heads: Sequence[str], meanings: Mapping[str, tuple[str, ...]] = MEANINGS) -> dict[str, int]:
    """Return which column holds what, by its head; each column and each meaning once.

    >>> guessed(["Gift date", "Donor", "E-mail", "Gross amount", "Fee", "Comment"])
    {'on': 0, 'name': 1, 'email': 2, 'gross': 3, 'fee': 4, 'words': 5}
    """
    found: dict[str, int] = {}
    plain = [re.sub(r"[^a-z ]", "", head.lower().replace("-", "")).strip() for head in heads]
    for exact in (True, False):
        for meaning, words in meanings.items():
            known = [word.replace("-", "") for word in words]
            for place, head in enumerate(plain):
                fits = head in known if exact else any(word in head.split() for word in known)
                if fits and meaning not in found and place not in found.values():
                    found[meaning] = place
    return dict(sorted(found.items(), key=lambda item: item[1]))


def knowing(
    columns: Mapping[str, str], *, meanings: Mapping[str, tuple[str, ...]], is_said: Callable[[Mapping[str, int]], bool]
) -> tuple[Callable[[Sequence[str]], bool], ...]:
    """Return by what a line of heads is known: by those that were said before, else by words that say enough.

    >>> said, words = knowing({"on": "Tag", "gross": "Betrag"}, meanings=MEANINGS, is_said=lambda found: "on" in found)
    >>> said(["Tag", "Wer", "Betrag"]), words(["Tag", "Wer", "Betrag"]), words(["Date", "Who"])
    (True, False, True)
    """
    said = frozenset(columns.values())

    def by_words(cells: Sequence[str]) -> bool:
        return is_said(guessed(cells, meanings))

    return (said.issubset, by_words) if said else (by_words,)


def gift_row(
    *,
    line: int,
    cells: Sequence[str],
    columns: Mapping[str, int],
    reading: Reading,
    digits: int,
    back_words: Mapping[str, Sequence[str]] | None = None,
    on_otherwise: date | None = None,
) -> GiftRow:
    """Return what one row says: a gift, or, where its amount is below zero or its kind says so, one that went back.

    `on_otherwise` is the day of a row that names none.

    :raises CannotStand: for a row of which neither can be made.
    """

    def said(meaning: str) -> str:
        return cells[columns[meaning]] if meaning in columns else ""

    on = on_otherwise if on_otherwise and not said("on") else day(said("on"), reading=reading)
    gross = amount(said("gross"), reading=reading, digits=digits)
    back = went_back(said("kind"), words=back_words) or (REFUND if gross < 0 else "")
    fee, net = (
        abs(amount(said(name), reading=reading, digits=digits)) if said(name) else None for name in ("fee", "net")
    )
    if not gross:
        raise CannotStand("It gives nothing.")
    if abs(gross) > MOST_MINOR or max(fee or 0, net or 0) > MOST_MINOR:
        raise CannotStand("Its amount is more than any gift here can be.")
    if on.year < EARLIEST:
        raise CannotStand(f"{told(said('on'))} lies too far back.")
    fee = (_fee_back if back else _fee)(abs(gross), fee, net, said("net"))
    return GiftRow(
        line=line,
        on=on,
        gross_minor=abs(gross),
        fee_minor=fee,
        name=said("name"),
        email=said("email").lower(),
        address=said("address"),
        reference=said("reference"),
        words=said("words"),
        number=said("donor_number")[:120],
        back=back,
        original=said("original") if back else "",
        often=said("often"),
        fund=said("fund"),
    )


def known_by(
    line: int,
    cells: Sequence[str],
    columns: Mapping[str, int],
    told_once: Collection[str],
    back_words: Mapping[str, Sequence[str]] | None = None,
) -> str:
    """Return by what a row is known that cannot be read: as a gift by its reference, so that it is known once mended.

    >>> columns = {"on": 0, "reference": 1, "gross": 2}
    >>> known_by(4, ["31.11.2026", "HX-7", "12"], columns, {"HX-7"})
    'reference HX-7'
    >>> known_by(4, ["31.11.2026", "HX-7", "-12"], columns, {"HX-7"})
    'line 4 31.11.2026|HX-7|-12'
    """

    def said(meaning: str) -> str:
        return cells[columns[meaning]] if meaning in columns else ""

    may_go_back = said("original") or went_back(said("kind"), words=back_words) or set(said("gross")) & set("-\u2212(")
    if said("reference") in told_once and not may_go_back:
        return f"reference {said('reference')}"
    return f"line {line} {'|'.join(cells)}"


def _fee(gross: int, fee: int | None, net: int | None, written: str) -> int:
    """The fee that a gift bears."""
    if fee is None:
        fee = gross - net if net is not None else 0
    if net is not None and gross - fee != net:
        raise CannotStand(f"Gross less fee is not the net amount that stands there, {written}.")
    if not 0 <= fee <= gross:
        raise CannotStand("Its fee is larger than the gift.")
    return fee


def _fee_back(gross: int, fee: int | None, net: int | None, written: str) -> int:
    """The fee that a site asks for a gift that went back, below zero where it gives its own back: the net tells."""
    if net is None and fee:
        raise CannotStand("It went back with a fee, and no net amount says whether the site asked it or gave it back.")
    asked = net - gross if net is not None else 0
    if fee is not None and abs(asked) != fee:
        raise CannotStand(f"Gross and fee do not make the net amount that stands there, {written}.")
    return asked


def rule_of(*, words: str, rules: Sequence[tuple[str, int]]) -> tuple[str, int] | None:
    """Return the first rule that fits: its words stand in what the donor wrote.

    >>> rule_of(words="For the Wound Fund, with love", rules=[("wound fund", 7), ("fund", 8)])
    ('wound fund', 7)
    >>> rule_of(words="", rules=[("wound fund", 7)])
    """
    said = words.casefold()
    return next((rule for rule in rules if rule[0].casefold() in said), None) if said else None
