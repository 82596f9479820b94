"""How much the books' guarantees cost: posting against bare rows, and a large day against a small one.

The floor of the first figure are the very rows that posting one charge leaves behind, every table counted, inserted
through the ORM with one bulk insert per table in a transaction of their own, the triggers lifted. Both sides commit.
"""

import statistics
import time
import uuid
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from django.db import connection, transaction

from config import triggers
from ledger.actions import agreements, charges
from ledger.models import Charge, Entry, FundDay, Holder, Inflow, Posting, Share, Use, Words
from tests.ledger import make
from tests.ledger.make import BRACKEN, BRINDLE_YARD

TABLES = (Charge, Posting, Inflow, Share, Use, Words, Entry, FundDay)
ROUNDS = 60
SMALL, LARGE = 20, 2_000


def rows() -> list[tuple[str, float, float]]:
    """Return (what is measured, the ratio, at most)."""
    _arrange()
    return [
        ("posting one entry against its rows inserted bare", _one_entry(), 4),
        (f"posting {LARGE:,} charges in one transaction against {SMALL}", _days(), 100),
    ]


def _arrange() -> None:
    """Money enough for every round, in funds of this measurement's own, in an empty database or beside the demo."""
    if not Holder.objects.exists():
        make.books(on=date(2026, 10, 1))
    leg = make.fund("Leg of the benches", "animal", subject_key=BRACKEN)
    make.fund("Dressings of the benches", "purpose", purpose={"dressing"})
    agreements.agree(
        key=make.key("benches"),
        party_key=BRINDLE_YARD,
        name="Agreement of the benches",
        percent=Decimal(40),
        from_on=make.oct(1),
        by=1,
    )
    for number in range(40):
        make.gift(make.general(), 1_000_00, make.oct(2), f"general {number}")
        make.gift(leg, 1_00, make.oct(2), f"leg {number}")


def _slip(**facts):
    slip = make.slip(party_key=BRINDLE_YARD, asked_minor=24_00, traits=frozenset({"boarding", "species:dog"}), **facts)
    return replace(slip, key=uuid.uuid4())


def _post(slips) -> float:
    start = time.perf_counter()
    with transaction.atomic(durable=True):
        charges.post_day(slips=slips, by=1, today=make.oct(14), at=make.at(make.oct(14)))
    return time.perf_counter() - start


def _one_entry() -> float:
    posted, bare = [], []
    for _ in range(ROUNDS):
        before = {model: model.objects.order_by("-pk").values_list("pk", flat=True).first() or 0 for model in TABLES}
        posted.append(_post([_slip()]))
        left = {model: list(model.objects.filter(pk__gt=before[model])) for model in TABLES}
        left[FundDay] = left[FundDay] or list(FundDay.objects.order_by("-pk")[:2])
        bare.append(_bare(left))
    return statistics.median(posted) / statistics.median(bare)


def _bare(left: dict) -> float:
    """Insert copies of the rows that one posting left, and take them away again."""
    copies = {model: [_copy(row, number) for number, row in enumerate(rows)] for model, rows in left.items()}
    triggers.lift(connection, "ledger")
    start = time.perf_counter()
    with transaction.atomic(durable=True):
        for model in TABLES:
            model.objects.bulk_create(copies[model])
    spent = time.perf_counter() - start
    with transaction.atomic():
        for model in reversed(TABLES):
            model.objects.filter(pk__in=[row.pk for row in copies[model]])._raw_delete("default")
    triggers.install(connection, "ledger")
    return spent


def _copy(row, number: int):
    facts = {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}
    if not isinstance(row, (Entry, Words)):
        facts.pop("id")
    shift = 10**9
    for name in ("entry_id", "id"):
        if name in facts:
            facts[name] += shift
    if isinstance(row, Entry):
        facts |= {"key": uuid.uuid4(), "digest": uuid.uuid4().hex}
    if isinstance(row, FundDay):
        facts["on"] = date(2030, 1, 1) + timedelta(days=number)
    if isinstance(row, Share):
        facts["posting_id"] = None
        facts["payer"], facts["fund_id"] = "nobody", None
    return type(row)(**facts)


def _days() -> float:
    small = statistics.median(_post([_slip() for _ in range(SMALL)]) for _ in range(7))
    return _post([_slip() for _ in range(LARGE)]) / small
