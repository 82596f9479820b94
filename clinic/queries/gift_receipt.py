"""One gift's receipt, or a year's: by fund holder, country and year a tax receipt or a letter of thanks (A3, I4)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from clinic.formulas.in_return import NOBODY, SITE, InReturn
from clinic.models import House, IssuedPaper
from clinic.queries.paper_head import Headed
from clinic.queries.receipt_sentences import sentences
from clinic.queries.stationery import Stationery, stationery_of
from config.days import day_year
from config.refusal import Refusal
from config.templating import minor_text, quantity
from ledger.formulas import acknowledgment
from ledger.formulas.acknowledgment import GiftPart, Rules
from ledger.queries import donors, gifts, reports
from ledger.queries.donors import DonorLine
from ledger.queries.gifts import GiftRow
from ledger.queries.holder import HolderFacts


class ReceiptImpossible(Refusal):
    """No paper can be made of this gift as it stands; the sentence says what is missing."""


@dataclass(frozen=True, kw_only=True)
class ReceiptLine:
    gift_id: int
    received_on: date
    words: str
    amount_minor: int | None  # None for goods that are described and not valued


@dataclass(frozen=True, kw_only=True)
class Receipt(Headed):
    kind: str
    donor_id: int
    donor: str
    address: str
    is_estate: bool
    gift_id: int | None
    from_on: date
    to_on: date
    issued_on: date
    number: str
    corrects: str
    holder_number: str
    country: str
    signer: str
    as_of: int
    lines: tuple[ReceiptLine, ...]
    part: GiftPart | None
    letter: tuple[str, ...]  # the paragraphs that the manager wrote
    says: tuple[str, ...]

    @property
    def is_receipt(self) -> bool:
        return self.kind == IssuedPaper.Kind.RECEIPT

    @property
    def total_minor(self) -> int:
        return sum(line.amount_minor or 0 for line in self.lines)

    @property
    def title(self) -> str:
        if not self.is_receipt:
            return "Thank you"
        return "Official receipt for income tax purposes" if self.country == "CA" else "Gift receipt"

    @property
    def number_words(self) -> str:
        return f"No. {self.number}" if self.number else "Draft, not issued"

    @property
    def issued_words(self) -> str:
        return (
            f"Issued {day_year(self.issued_on)}" if self.number else f"As the books stood on {day_year(self.issued_on)}"
        )

    def kept_facts(self) -> dict[str, Any]:
        sums = {"given": self.total_minor}
        if self.part is not None:
            sums["what came back"] = self.part.benefit_minor
            sums["part that is a gift"] = self.part.gift_minor or 0
        return {
            "donor_id": self.donor_id,
            "as_of": self.as_of,
            "country": self.country,
            "year": self.to_on.year,
            "currency": self.currency,
            "gifts": [line.gift_id for line in self.lines],
            "sums": sums,
        }


def gift_receipt(
    *,
    gift_id: int,
    issued_on: date,
    house: House,
    signer: str,
    returned: InReturn,
    number: str = "",
    corrects: str = "",
) -> Receipt:
    """Return the paper of one gift.

    :raises ReceiptImpossible: when there is no such gift, nobody gave it by name, or it went back.
    """
    story = gifts.gift(gift_id=gift_id)
    if story is None or story.row.donor_id is None:
        raise ReceiptImpossible("Nobody gave this gift by name, so no paper can thank them.")
    if not story.row.stays_minor:
        raise ReceiptImpossible("This gift went back, so it has no receipt.")
    on = story.row.received_on
    return _receipt((story.row,), gift_id, on, on, issued_on, house, signer, returned, number, corrects)


def year_receipt(
    *, donor_id: int, year: int, issued_on: date, house: House, signer: str, returned: InReturn, number: str = "",
    corrects: str = "", without: frozenset[int] = frozenset(),
) -> Receipt:  # fmt: skip
    """Return one paper for a donor's gifts of a calendar year, but for those `without` that have one of their own.

    :raises ReceiptImpossible: when no gift is left for it.
    """
    days = {"from_on": date(year, 1, 1), "to_on": date(year, 12, 31)}
    rows = tuple(row for row in gifts.of_donor(donor_id=donor_id, **days) if row.gift_id not in without)
    if not rows:
        raise ReceiptImpossible(f"There is no gift of {year} left without a paper of its own.")
    return _receipt(rows, None, *days.values(), issued_on, house, signer, returned, number, corrects)


def _receipt(
    rows: tuple[GiftRow, ...], gift_id: int | None, from_on: date, to_on: date, issued_on: date, house: House,
    signer: str, returned: InReturn, number: str, corrects: str,
) -> Receipt:  # fmt: skip
    stationery, donor = stationery_of(house), donors.donor(donor_id=rows[0].donor_id)
    books = stationery.head.books
    if books is None or donor is None:
        raise ReceiptImpossible("The books have no holder or no such donor yet.")
    rules = acknowledgment.rules_of(country=books.country, year=to_on.year)
    amount = sum(row.stays_minor for row in rows if not row.is_goods)
    part = _part(rules, to_on.year, amount, returned) if returned.benefit_minor else None
    why_not = _why_no_receipt(books, rules, donor, part, returned)
    if not why_not and rules.needs_address and not donor.address:
        raise ReceiptImpossible(
            f"This country’s receipt names the donor’s address, and {donor.name} has none. Write it on that page."
        )
    return Receipt(
        head=stationery.head,
        kind=IssuedPaper.Kind.LETTER if why_not else IssuedPaper.Kind.RECEIPT,
        donor_id=donor.donor_id,
        donor=donor.name,
        address=donor.address,
        is_estate=donor.kind == "estate",
        gift_id=gift_id,
        from_on=from_on,
        to_on=to_on,
        issued_on=issued_on,
        number=number,
        corrects=corrects,
        holder_number=books.number,
        country=books.country,
        signer=signer,
        as_of=reports.scope(from_on=from_on, to_on=to_on).as_of,
        lines=tuple(_line(row, rules.goods_are_valued and not why_not) for row in rows),
        part=part,
        letter=_letter(rows, donor, stationery, amount, gift_id),
        says=(*sentences(rows, rules, books, part, returned, house, amount, not why_not), *why_not),
    )


def _letter(
    rows: tuple[GiftRow, ...], donor: DonorLine, stationery: Stationery, amount: int, gift_id: int | None
) -> tuple[str, ...]:
    head, on = stationery.head, rows[0].received_on
    given = {"donor": donor.name, "amount": f"{minor_text(amount, head.digits)} {head.currency}"}
    if gift_id is not None:
        return stationery.letter("gift", **given, date=day_year(on))
    return stationery.letter("gifts", **given, year=str(on.year), count=str(len(rows)))


def _part(rules: Rules, year: int, amount: int, returned: InReturn) -> GiftPart:
    return acknowledgment.gift_part(
        country=rules.country,
        year=year,
        payment_minor=amount,
        benefit_minor=returned.benefit_minor,
        items_cost_minor=returned.items_cost_minor,
    )


def _why_no_receipt(
    books: HolderFacts, rules: Rules, donor: DonorLine, part: GiftPart | None, returned: InReturn
) -> tuple[str, ...]:
    """Say why this paper is a letter and no receipt; nothing where it is one."""
    if not books.is_charity or not books.number:
        return (f"{books.name} is no registered charity and gives no tax receipt. This is a letter of thanks.",)
    if not rules.is_taxed:
        return ("This is a letter of thanks and no tax receipt.",)
    if donor.kind == "estate":
        return ("This letter goes to the executor of the estate. It is no tax receipt.",)
    if returned.receipted_by == SITE:
        return ("The giving site gives the receipt for this gift. This is a letter of thanks and no second receipt.",)
    if returned.receipted_by == NOBODY:
        return ("No receipt is given for this gift. This is a letter of thanks.",)
    if part is not None and part.gift_minor is None:
        return ("What came back is worth so much of the payment that no receipt may be given for it.",)
    return ()


def _line(row: GiftRow, valued: bool) -> ReceiptLine:
    words = row.words or "a gift"
    if row.is_goods:
        words = f"{quantity(row.quantity or Decimal(1))} {row.unit}: {words}"
    elif row.fund_names:
        words = f"{row.words}, for {', '.join(row.fund_names)}" if row.words else f"for {', '.join(row.fund_names)}"
    amount = row.stays_minor if valued or not row.is_goods else None
    return ReceiptLine(gift_id=row.gift_id, received_on=row.received_on, words=words, amount_minor=amount)
