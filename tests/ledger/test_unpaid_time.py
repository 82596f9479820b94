"""Unpaid time is a part of what the clinic gives in a line (C3): kept with it, chained, mirrored, audited."""

import dataclasses
from datetime import date

import pytest
from django.db import connection

from config import triggers
from ledger import posting
from ledger.actions import charges
from ledger.audit import audit
from ledger.formulas.slips import SlipImpossible
from ledger.models import Charge
from ledger.queries.care_costs import care_sums
from tests.ledger import make
from tests.ledger.make import oct
from tests.ledger.test_posting import post_day

WHOLE = {"from_on": date(2026, 1, 1), "to_on": date(2026, 12, 31)}


def given() -> list[tuple[int, int]]:
    """The discount and the unpaid time of all care."""
    return [(one.discount_minor, one.time_minor) for one in care_sums(**WHOLE)]


def test_it_is_kept_with_the_line_and_told_apart_from_the_discount(books):
    """Usual fee 42.00, asked 14.00 where 24.00 would have been asked: 28.00 given, 10.00 of it unpaid time."""
    day = post_day(make.slip(asked_minor=14_00, time_minor=10_00))
    assert given() == [(18_00, 10_00)]

    charges.correct(
        key=make.key("no"),
        charge_id=day.lines[0].charge_id,
        slip=make.slip("in its place", asked_minor=24_00),
        by=1,
        today=oct(15),
        at=make.at(oct(15)),
        why="She was paid after all.",
    )

    assert list(Charge.objects.order_by("id").values_list("time_minor", flat=True)) == [10_00, -10_00, None]
    assert given() == [(18_00, 0)]
    assert audit().findings == ()


def test_a_line_sent_again_with_other_unpaid_time_is_another(books):
    slip = make.slip(asked_minor=14_00, time_minor=10_00)
    post_day(slip)

    assert post_day(slip).lines[0].already
    with pytest.raises(posting.KeyUsedBefore):
        post_day(dataclasses.replace(slip, time_minor=9_00))


@pytest.mark.parametrize("minor", [-1, 18_01])
def test_it_is_never_more_than_what_is_given(minor):
    with pytest.raises(SlipImpossible, match="unpaid time is a part of what the clinic gives"):
        make.slip(time_minor=minor)


@pytest.mark.parametrize(
    ("minor", "sentence"), [("10", "digest differs"), ("NULL", "digest differs"), ("99999", "somebody's unpaid time")]
)
def test_the_audit_finds_what_was_changed_behind_the_triggers(books, minor, sentence):
    post_day(make.slip(asked_minor=14_00, time_minor=10_00))
    triggers.lift(connection, "ledger")
    with connection.cursor() as cursor:
        cursor.execute(f"UPDATE ledger_charge SET time_minor = {minor}")  # noqa: S608
    triggers.install(connection, "ledger")

    assert any(sentence in finding for finding in audit().findings), audit().findings
