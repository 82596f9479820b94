"""Everything that the books know about one donor, line by line, in words that they themselves can read."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from config import home
from config.days import day_year
from ledger.formulas import money
from ledger.models import Donor, DonorAddress, DonorNumber, LeftoverAnswer
from ledger.queries import conditional_gifts, donor_erasures, donor_page, donors, file_copies, gifts, one_donor
from ledger.queries.gifts import GiftRow
from ledger.queries.holder import holder


@dataclass(frozen=True, kw_only=True)
class RecordLine:
    """One thing that is known: what it belongs to, its day where it has one, and an amount where it is money."""

    part: str
    on: date | None = None
    what: str
    more: str = ""
    amount: Decimal | None = None


def donor_record(*, donor_id: int, today: date) -> tuple[RecordLine, ...]:
    """Return what the books know about a donor, with everybody who is read as one with them."""
    ids = one_donor.whole(donor_id=donor_id)
    return (
        *(line for number in ids for line in _identity(number)),
        *_reached(ids),
        *_merged(donor_id),
        *_gifts(donor_id),
        *_conditions(ids),
        *_answers(ids),
        *_in_files(donor_id, today),
    )


def _identity(number: int) -> Iterator[RecordLine]:
    row = Donor.objects.get(id=number)
    line = donors.lines(numbers=[number])[0]
    said = (
        ("Name", row.name),
        ("Who gives", line.kind_words),
        ("Address", row.address),
        ("E-mail", row.email),
        ("Wants to get", Donor.Wants(row.wants).label if row.wants else "has not said"),
        ("Wants to be named", "no" if row.is_unnamed else "has not said no"),
        ("Language", line.language_words),
        ("Note", row.note),
        ("Number in these books", str(number)),
        ("Added by", home.person(row.added_by)),
    )
    for what, more in said:
        yield RecordLine(part="Who they are", on=row.added_on if what == "Added by" else None, what=what, more=more)


def _reached(ids: tuple[int, ...]) -> Iterator[RecordLine]:
    for row in DonorAddress.objects.filter(donor__in=ids).order_by("until_on", "id"):
        where = ", ".join(filter(None, (row.address, row.email)))
        yield RecordLine(part="Where they were reached before", on=row.until_on, what="until this day", more=where)
    for row in DonorNumber.objects.filter(donor__in=ids).select_related("source").order_by("id"):
        yield RecordLine(part="Numbers at giving sites", what=row.source.name, more=row.number)


def _merged(donor_id: int) -> Iterator[RecordLine]:
    for line in donor_page.donor_facts(donor_id=donor_id).merges:
        what = f"{line.name} is the same as {line.into_name}, by {line.by}"
        yield RecordLine(part="Merged", on=line.on, what=what, more=line.why)
        if line.undone_on:
            yield RecordLine(part="Merged", on=line.undone_on, what=f"undone by {line.undone_by}", more=line.undone_why)


def _gifts(donor_id: int) -> Iterator[RecordLine]:
    for row in gifts.every_gift(donor_id=donor_id):
        yield RecordLine(
            part="Gifts",
            on=row.received_on,
            what=f"Gift {row.gift_id}, {row.way_words}, for {', '.join(row.fund_names)}",
            more=_more(row),
            amount=_amount(row.amount_minor),
        )


def _more(row: GiftRow) -> str:
    said = [
        row.words,
        f"fee {_amount(row.fee_minor)}" if row.fee_minor else "",
        f"went back {_amount(row.returned_minor)}" if row.returned_minor else "",
        "taken back" if row.is_taken_back else f"not yet used {_amount(row.left_minor)}" if row.left_minor else "",
        f"given as {row.original_words}" if row.original_words else "",
    ]
    return "; ".join(filter(None, said))


def _conditions(ids: tuple[int, ...]) -> Iterator[RecordLine]:
    for gift in conditional_gifts.of_donors(ids=ids):
        yield RecordLine(
            part="Conditional gifts",
            on=gift.received_on,
            what=f"{gift.outcome}, for {gift.fund_name}",
            more=gift.condition,
            amount=_amount(gift.amount_minor),
        )


def _answers(ids: tuple[int, ...]) -> Iterator[RecordLine]:
    rows = LeftoverAnswer.objects.filter(gift__donor__in=ids).select_related("fund").order_by("on", "id")
    for row in rows:
        yield RecordLine(
            part="Answers about what was left",
            on=row.on,
            what=f"{row.get_answer_display()}, of gift {row.gift_id} in {row.fund.name}",
            more=row.why,
            amount=_amount(row.amount_minor),
        )


def _in_files(donor_id: int, today: date) -> Iterator[RecordLine]:
    what = donor_erasures.erasable(donor_id=donor_id)
    for number in what.scans:
        yield RecordLine(part="Scans", what=f"a scan hangs at entry {number}")
    for row in file_copies.rows_about(ids=what.ids, who=what.who, today=today):
        told = f"{row.name}, brought {day_year(row.brought_on)}, line {row.line}"
        yield RecordLine(part="Rows of gift files", what=told, more=row.cells)


def _amount(minor: int) -> Decimal:
    return money.from_minor(minor, holder().currency)
