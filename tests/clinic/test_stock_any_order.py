"""Lots, care, counts and corrections in any order: what came in went out or is left, in quantity and in money.

The same events are followed by `clinic.formulas.stock.keep`, which knows no database: by first in first out both agree
exactly, and every charge is its cost rounded once; by moving average the shelf is kept to a millionth of a minor unit.
"""

import uuid
from contextlib import suppress
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from django.db import transaction
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from clinic.actions import care, line_corrections, prices, services
from clinic.audit import audit
from clinic.formulas import stock
from clinic.models import House, StockMove, SupplyLot
from config.refusal import Refusal
from ledger.actions import policies
from ledger.audit import audit as audit_of_the_books
from ledger.formulas import money
from ledger.models import Charge
from tests.clinic import make
from tests.clinic.make import AT, DAY
from tests.conftest import SOAK

MILLION = 1_000_000
ENOUGH = Fraction(1, 100)  # of a minor unit, over all the leveling of a story


class Undo(Exception):
    """Takes back what one generated story has written."""


class Story:
    """A shelf of pads, of which each dressing takes one; every step is written in the database and in the formula."""

    def __init__(self, method: str) -> None:
        self.clinic, self.method = make.open_clinic(), method
        kit = services.fill_kit(service=self.clinic.dressing, supplies=[("pad", "Pad", "pad", Decimal(1))])
        self.pad = kit.lines.get().supply
        prices.set_price(
            service=self.clinic.dressing, starts_on=DAY, cost_from="computed", usual_fee=Decimal(90),
            asked=Decimal(18), by=self.clinic.manager, at=AT,
        )  # fmt: skip
        policies.set_policy(
            key=uuid.uuid4(), code="supplies_cost", value=method, from_on=DAY, why="A story.",
            by=self.clinic.manager.pk, today=DAY, at=AT,
        )  # fmt: skip
        self.clinic.see_all(DAY)
        self.days = [DAY - timedelta(days=number) for number in range(1, 12)]
        self.events: list = []
        self.charges: dict[str, int] = {}
        self.arrive(3, 700)

    def go(self, what: str, pick: int, size: int) -> None:
        moves = StockMove.objects.count()
        try:
            with transaction.atomic():
                getattr(self, what)(pick, size)
        except Refusal:
            assert StockMove.objects.count() == moves
        assert audit().findings == ()
        self.agrees()

    @property
    def kept(self) -> stock.Stock:
        return stock.keep(events=self.events, method=self.method)

    def arrive(self, pick: int, size: int) -> None:
        if not self.days:
            return
        on, quantity = self.days.pop(pick % len(self.days)), Decimal(size % 40 + 1) / 4
        lot = make.shelf(self.clinic, self.pad, str(quantity), cost=size + 1, on=on, donated=pick % 3 == 0, today=DAY)
        self.events.append(
            stock.Lot(f"lot {lot.pk}", on, Fraction(quantity), Fraction(size + 1), is_donated=pick % 3 == 0)
        )

    def use(self, pick: int, size: int) -> None:
        animal = self.clinic.admit(f"Animal {len(self.events)}", on=DAY, partner=False).animal
        quantity = Decimal(size % 12 + 1) / 4
        item = self.clinic.give(animal, self.clinic.dressing, quantity=str(quantity))
        moves, first = StockMove.objects.count(), self.clinic.preview(DAY, DAY)
        assert self.clinic.preview(DAY, DAY) == first  # priced twice, an unsigned day says the same
        assert StockMove.objects.count() == moves
        if first.behind:
            assert Fraction(quantity) > self.on_hand
            care.undo(item=item, by=self.clinic.nurse, at=AT)
            self.clinic.sign(DAY, DAY)
            return
        self.clinic.sign(DAY, DAY)
        self.used(Charge.objects.get(subject_key=animal.key, kind="supplies"), quantity)

    def used(self, charge: Charge, quantity: Decimal) -> None:
        self.charges[str(charge.pk)] = charge.cost_minor
        self.events.append(stock.Use(str(charge.pk), DAY, Fraction(quantity)))

    def count(self, pick: int, size: int) -> None:
        found = Decimal(size % 90) / 4
        made = make.count(self.clinic, self.pad, str(found), why="a story", today=DAY)
        self.events.append(stock.Count(f"count {made.pk}", DAY, Fraction(found)))

    def correct(self, pick: int, size: int) -> None:
        standing = list(Charge.objects.filter(kind="supplies", reverses=None, reversed_by=None).order_by("id"))
        if not standing:
            return
        charge, quantity = standing[pick % len(standing)], Decimal(size % 8) / 4
        done = line_corrections.correct_line(
            key=uuid.uuid4(), number=charge.entry_id, quantity=quantity, why="A story.", by=self.clinic.manager,
            house=House.objects.get(), today=DAY, at=AT,
        )  # fmt: skip
        self.events.append(stock.Reversal(f"back {charge.pk}", DAY, str(charge.pk)))
        if done.line:
            self.used(Charge.objects.get(pk=done.line.charge_id), quantity)

    @property
    def on_hand(self) -> Fraction:
        return sum((part.quantity for part in self.kept.left), Fraction(0))

    def agrees(self) -> None:
        kept, lots = self.kept, SupplyLot.objects.all()
        cost, donated = (sum((getattr(part, name) for part in kept.left), Fraction(0)) for name in ("cost", "donated"))
        most = ENOUGH if self.method == stock.MOVING_AVERAGE else Fraction(len(lots), MILLION)
        assert self.on_hand == Fraction(sum(lot.left_millionths for lot in lots), MILLION)
        assert abs(cost - Fraction(sum(lot.left_cost for lot in lots), MILLION)) <= most
        assert abs(donated - Fraction(sum(lot.left_donated for lot in lots), MILLION)) <= most
        for charge, minor in self.charges.items():
            exact = sum((part.cost for part in kept.taken[charge]), Fraction(0))
            if self.method == stock.FIRST_IN_FIRST_OUT:
                assert minor == money.half_up(exact)
            assert abs(minor - exact) <= Fraction(1, 2) + (ENOUGH if self.method == stock.MOVING_AVERAGE else 0)


STEPS = st.lists(
    st.tuples(st.sampled_from(["arrive", "use", "use", "count", "correct"]), st.integers(0, 99), st.integers(0, 999)),
    min_size=3,
    max_size=8,
)


@pytest.mark.django_db
@pytest.mark.random
@pytest.mark.parametrize("method", [stock.FIRST_IN_FIRST_OUT, stock.MOVING_AVERAGE])
@settings(max_examples=150 if SOAK else 8, phases=[Phase.explicit, Phase.generate])
@given(steps=STEPS)
def test_whatever_happens_to_the_shelf_it_adds_up(method, steps):
    with suppress(Undo), transaction.atomic():
        story = Story(method)
        for what, pick, size in steps:
            story.go(what, pick, size)
        assert audit_of_the_books().findings == ()
        raise Undo
