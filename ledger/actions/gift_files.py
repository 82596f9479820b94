"""Gift files: bringing one, saying what its columns hold, and recording its gifts in batches that can be resumed.

GiftFileRefused
├── SourceNameless    a source needs a name
├── ColumnsUnclear    a meaning without a column of this file, or without a fund
└── RowsCannotStand   some rows cannot be gifts, and nobody said to leave them
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from config import tables, uploads
from config.days import day_year
from config.refusal import Refusal
from ledger.actions import donors, gifts, returns
from ledger.formulas import gift_files as formulas
from ledger.models import Fund, Gift, GiftFile, GiftRule, GiftSource
from ledger.queries.gift_files import Judged

BATCH = 500


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
    table = tables.read(content)
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
    for meaning, word in (("on", "the day"), ("gross", "the amount")):
        if not columns.get(meaning):
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
    given = [one for one in rows if not one.row.back]
    numbers = donors.add_all([_newcomer(one) for one in given if one.donor_key], on=today, by=by)
    received = [_received(one, source, numbers, booked_on) for one in given]
    gifts.receive_all(received, by=by, today=today, at=at)
    for one in rows:
        if one.row.back:
            _give_back(one, source, by=by, today=today, at=at)
    return len(rows)


def _newcomer(one: Judged) -> donors.Newcomer:
    """The key of a new donor makes it one for all its rows."""
    row = one.row
    return donors.Newcomer(
        key=one.donor_key, name=(row.name or row.email)[:120], email=row.email, address=row.address[:300]
    )


def _received(one: Judged, source: GiftSource, numbers: Mapping[UUID, int], booked_on: date | None) -> gifts.Received:
    row = one.row
    return gifts.Received(
        key=one.key,
        donor_id=numbers[one.donor_key] if one.donor_key else one.donor_id,
        fund_id=one.fund_id,
        amount_minor=row.gross_minor,
        fee_minor=row.fee_minor,
        way=source.way,
        received_on=row.on,
        words=row.words[:500],
        recurring=row.recurs,
        booked_on=booked_on,
    )


def _give_back(one: Judged, source: GiftSource, *, by: int, today: date, at: datetime) -> None:
    row = one.row
    told = f"Told by {source.name}, {day_year(row.on)}"
    returns.give_back(
        key=one.key,
        gift_id=Gift.objects.get(entry__key=one.gift_key).id,
        how=row.back,
        amount_minor=row.gross_minor,
        fee_minor=row.fee_minor,
        way=source.way,
        why=f"{told}, reference {row.reference}." if row.reference else f"{told}.",
        by=by,
        today=today,
        at=at,
    )
