"""Gift files: bringing one, saying what its columns hold, and recording its gifts in batches that can be resumed.

GiftFileRefused
├── SourceNameless    a source needs a name
├── ColumnsUnclear    a meaning without a column of this file, or without a fund
└── RowsCannotStand   some rows cannot be gifts, and nobody said to leave them
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import TypedDict, Unpack
from uuid import UUID

from django.db import transaction

from config import tables, uploads
from config.days import day_year
from config.long_lists import kept_alive
from config.refusal import Refusal
from ledger.actions import donors, gifts, opening, past_gifts, returns
from ledger.formulas import gift_files as formulas
from ledger.models import Fund, Gift, GiftFile, GiftRule, GiftSource
from ledger.queries import gift_files as file_queries
from ledger.queries import judged_gifts
from ledger.queries.funds import general_fund
from ledger.queries.judged_gifts import Judged

BATCH = 500


class Said(TypedDict):
    """Who records, on which day and at what moment."""

    by: int
    today: date
    at: datetime


class GiftFileRefused(Refusal):
    """Nothing was changed."""


class SourceNameless(GiftFileRefused):
    field = "source"

    def __init__(self) -> None:
        super().__init__("Say where the file comes from, such as the name of the giving site. Nothing was saved.")


class ColumnsUnclear(GiftFileRefused):
    def __init__(self, what: str) -> None:
        super().__init__(f"{what} Nothing was saved.")


class RowsCannotStand(GiftFileRefused):
    def __init__(self, count: int) -> None:
        super().__init__(
            f"{count} of its rows cannot stand, so nothing was recorded. Mend the file, or say that they wait."
        )


@transaction.atomic
def bring(*, key: UUID, source: str, content: bytes, name: str, by: int, at: datetime) -> GiftFile:
    """Keep a file under its source, which is made on its first file; the same file again is found.

    :raises SourceNameless: without a source.
    :raises TableRefused: when it is no table that can be read whole.
    """
    if not source.strip():
        raise SourceNameless
    table = tables.read(content, file_queries.knowing(GiftSource.objects.filter(name=source.strip()).first()))
    sha256 = hashlib.sha256(content).hexdigest()
    if known := GiftFile.objects.filter(source__name=source.strip(), sha256=sha256).exclude(copy_sha256="").first():
        return known  # somebody in it was erased: it is not kept anew as it came
    kept = uploads.keep_made(content, tables.kind_of(content))
    made, _ = GiftSource.objects.get_or_create(
        name=source.strip(), defaults={"key": key, "way": "giving_site", "made_by": by}
    )
    found, _ = GiftFile.objects.get_or_create(
        source=made,
        sha256=kept.sha256,
        defaults={
            "content_type": kept.content_type,
            "name": name[:120],
            "rows": len(table.rows),
            "brought_by": by,
            "brought_at": at,
        },
    )
    return found


@transaction.atomic
def say(
    *,
    source: GiftSource,
    columns: Mapping[str, str],
    way: str,
    decimal: str,
    day_first: bool | None,
    fund_id: int,
    rules: Sequence[tuple[str, int]],
    back_words: Mapping[str, Sequence[str]] | None = None,
) -> GiftSource:
    """Say what the columns of a source hold, and by what rules its gifts find their fund.

    :raises ColumnsUnclear: when a needed column or a fund is missing.
    """
    needed = formulas.NEEDED_AT_OPENING if way == GiftSource.AT_OPENING else formulas.NEEDED
    for meaning, word in (("on", "the day"), ("gross", "the amount")):
        if meaning in needed and not columns.get(meaning):
            raise ColumnsUnclear(f"No column holds {word} of a gift.")
    heads = [head for head in columns.values() if head]
    if len(heads) != len(set(heads)):
        raise ColumnsUnclear("One column is said to hold two things.")
    if Fund.objects.filter(id__in={fund_id, *(fund for _, fund in rules)}, closed_on=None).count() != len(
        {fund_id, *(fund for _, fund in rules)}
    ):
        raise ColumnsUnclear("A fund that is named here is closed or not there.")
    source.columns = {meaning: head for meaning, head in columns.items() if head and meaning in formulas.MEANINGS}
    source.way, source.decimal, source.day_first, source.fund_id = way, decimal, day_first, fund_id
    source.back_words = {how: list(words) for how, words in (back_words or {}).items() if words}
    source.save()
    source.rules.all().delete()
    GiftRule.objects.bulk_create(
        GiftRule(source=source, position=number, contains=contains, fund_id=fund)
        for number, (contains, fund) in enumerate(rules)
    )
    return source


def record_in_batches(
    *,
    source: GiftSource,
    rows: Sequence[Judged],
    by: int,
    today: date,
    at: datetime,
    booked_on: date | None = None,
    shown: Callable[[range], Iterable[int]] = iter,
) -> None:
    """Record rows a batch at a time, each durable by itself, so that nobody at the ward waits long.

    Cut off anywhere and begun again it adds the rest. `shown` may go along with the beginnings of the batches.

    :raises PostingRefused: when a row cannot be; the batches before it are kept.
    """
    told = in_order(rows)
    with kept_alive():
        for start in shown(range(0, len(told), BATCH)):
            with transaction.atomic(durable=True):
                batch = told[start : start + BATCH]
                record(source=source, rows=batch, by=by, today=today, at=at, booked_on=booked_on)


def in_order(rows: Sequence[Judged]) -> list[Judged]:
    """Return rows in the order of recording: gifts by their day, so that a fund's later days move least, then returns.

    What went back stands behind its gift, wherever the file has it.
    """
    return sorted(rows, key=lambda one: (bool(one.row.back), one.row.on, one.row.line))


@transaction.atomic
def record(
    *,
    source: GiftSource,
    rows: Sequence[Judged],
    by: int,
    today: date,
    at: datetime,
    booked_on: date | None = None,
) -> int:
    """Record one batch of rows that stand, each with its donor; what is in the books already adds nothing.

    :raises PostingRefused: when one of them cannot be; nothing of the batch is kept.
    """
    numbers = donors.add_all([_newcomer(one) for one in rows if one.donor_key], on=today, by=by)
    donors.keep_numbers(source=source, numbers=_by_number(rows, numbers))
    said: Said = {"by": by, "today": today, "at": at}
    by_kind: dict[str, list[Judged]] = defaultdict(list)
    for one in rows:
        by_kind[one.kind].append(one)
    gifts.receive_all([_received(one, source, numbers, booked_on) for one in by_kind[judged_gifts.GIFT]], **said)
    past_gifts.receive_all([_past(one, numbers) for one in by_kind[judged_gifts.PAST]], **said)
    for one in by_kind[judged_gifts.OPENING]:
        _open(one, numbers, **said)
    for one in (*by_kind[judged_gifts.PAST_BACK], *by_kind[judged_gifts.BACK]):
        _give_back(one, source, **said)
    return len(rows)


def _by_number(rows: Sequence[Judged], numbers: Mapping[UUID, int]) -> dict[str, int]:
    """Return whose the numbers are by which the source knows its donors."""
    told = ((one.row.number, _donor(one, numbers)) for one in rows)
    return {number: donor for number, donor in told if number and donor}


def _newcomer(one: Judged) -> donors.Newcomer:
    """The key of a new donor makes it one for all its rows."""
    row = one.row
    return donors.Newcomer(
        key=one.donor_key, name=(row.name or row.email)[:120], email=row.email[:254], address=row.address[:300]
    )


def _received(one: Judged, source: GiftSource, numbers: Mapping[UUID, int], booked_on: date | None) -> gifts.Received:
    row = one.row
    return gifts.Received(
        key=one.key,
        donor_id=_donor(one, numbers),
        fund_id=one.fund_id,
        amount_minor=row.gross_minor,
        fee_minor=row.fee_minor,
        way=source.way,
        received_on=row.on,
        words=row.words[:500],
        recurring=row.recurs,
        booked_on=booked_on,
    )


def _donor(one: Judged, numbers: Mapping[UUID, int]) -> int | None:
    return numbers[one.donor_key] if one.donor_key else one.donor_id


def _past(one: Judged, numbers: Mapping[UUID, int]) -> past_gifts.PastGift:
    row = one.row
    return past_gifts.PastGift(
        key=one.key,
        donor_id=_donor(one, numbers),
        amount_minor=row.gross_minor,
        received_on=row.on,
        words=row.words[:500],
        recurring=row.recurs,
    )


def _open(one: Judged, numbers: Mapping[UUID, int], **said: Unpack[Said]) -> None:
    """What a fund held when the books began, by its donor where known."""
    row, donor_id, begun_on = one.row, _donor(one, numbers), general_fund().opened_on
    opening.balance(
        key=one.key,
        fund_id=one.fund_id,
        amount_minor=row.gross_minor,
        on=begun_on,
        donor_id=donor_id,
        received_on=row.on if row.on != begun_on else None,
        words=row.words[:500],
        **said,
    )


def _give_back(one: Judged, source: GiftSource, **said: Unpack[Said]) -> None:
    row = one.row
    told = f"Told by {source.name}, {day_year(row.on)}"
    back = {
        "key": one.key,
        "gift_id": Gift.objects.get(entry__key=one.gift_key).id,
        "how": row.back,
        "amount_minor": row.gross_minor,
        "why": f"{told}, reference {row.reference}." if row.reference else f"{told}.",
    }
    if one.kind == judged_gifts.PAST_BACK:
        past_gifts.give_back(**back, **said)
    else:
        returns.give_back(**back, fee_minor=row.fee_minor, way=source.way, **said)
