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
from config.refusal import Refusal
from ledger.actions import donors, gifts
from ledger.formulas import gift_files as formulas
from ledger.models import Donor, Fund, GiftFile, GiftRule, GiftSource
from ledger.queries.gift_files import Judged

BATCH = 100


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
            f"{count} of its rows cannot stand, so nothing was recorded. Mend the file, or say that they are left out."
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
    shown: Callable[[range], Iterable[int]] = iter,
) -> None:
    """Record rows a batch at a time, each durable by itself, so that nobody at the ward waits long.

    Cut off anywhere and begun again it adds the rest. `shown` may go along with the beginnings of the batches.

    :raises IncomeRefused: when a gift cannot be; the batches before it are kept.
    """
    for start in shown(range(0, len(rows), BATCH)):
        with transaction.atomic(durable=True):
            record(source=source, rows=rows[start : start + BATCH], by=by, today=today, at=at)


@transaction.atomic
def record(*, source: GiftSource, rows: Sequence[Judged], by: int, today: date, at: datetime) -> int:
    """Record one batch of rows that stand, each with its donor; what is in the books already adds nothing.

    :raises IncomeRefused: when a gift cannot be; nothing of the batch is kept.
    """
    for one in rows:
        row = one.row
        gifts.receive(
            key=one.key,
            donor_id=_donor(one, by=by, today=today),
            fund_id=one.fund_id,
            amount_minor=row.gross_minor,
            fee_minor=row.fee_minor,
            way=source.way,
            received_on=row.on,
            words=row.words,
            by=by,
            today=today,
            at=at,
        )
    return len(rows)


def _donor(one: Judged, *, by: int, today: date) -> int | None:
    """The donor that the preview showed, or a new one; the key of a new one makes it one for all its rows."""
    if one.donor_id is not None or one.donor_key is None:
        return one.donor_id
    if kept := Donor.objects.filter(key=one.donor_key).first():
        return kept.id
    row = one.row
    made = donors.add(
        key=one.donor_key, name=row.name or row.email, email=row.email, address=row.address[:300], on=today, by=by
    )
    return made.id
