"""Lists of gifts as they come from a giving site, arranged for tests."""

import csv
import io
import uuid

from ledger.actions import gift_files as actions
from ledger.formulas import gift_files as formulas
from ledger.models import Donor, Fund, GiftFile
from ledger.queries import gift_files as queries
from tests.ledger import make
from tests.ledger.make import oct

SITE = "The giving site"


def written(heads, rows, separator=",") -> bytes:
    text = io.StringIO()
    csv.writer(text, delimiter=separator).writerows([heads, *rows])
    return text.getvalue().encode("utf-8-sig")


def books(settings, tmp_path) -> Fund:
    """Books with a fund for wounds and two donors, on the last of October."""
    settings.AS_OF, settings.MEDIA_ROOT = "2026-10-31", tmp_path
    make.books()
    fund = make.fund("Wound fund", "purpose", purpose={"dressing"})
    for name, email in (("Orsolya Penhallow", "Orsolya@Example.org"), ("Magda Illesz", "")):
        Donor.objects.create(key=uuid.uuid4(), name=name, email=email, added_on=oct(1), added_by=1)
    return fund


def brought(fund: Fund, content: bytes, source=SITE, **facts) -> GiftFile:
    """Bring a file and say what its columns hold, as their heads tell."""
    file = actions.bring(
        key=uuid.uuid4(), source=source, content=content, name="october.csv", by=1, at=make.at(oct(31))
    )
    if not file.source.columns:
        table = queries.table_of(file)
        columns = {meaning: table.heads[place] for meaning, place in formulas.guessed(table.heads).items()}
        said = {"way": "giving_site", "decimal": "", "day_first": None, "fund_id": make.general().id}
        said["rules"] = [("wound fund", fund.id)]
        actions.say(source=file.source, columns=columns, **said, **facts)
    return file


def seen(file: GiftFile) -> queries.Preview:
    return queries.preview(file=file, table=queries.table_of(file), today=oct(31))


def record(file: GiftFile, rows=None) -> None:
    rows = seen(file).new if rows is None else rows
    in_order = actions.in_order(rows)
    actions.record(source=file.source, rows=in_order, by=1, today=oct(31), at=make.at(oct(31)))
