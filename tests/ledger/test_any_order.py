"""Whatever people do, in whatever order: after every step every promise of the books is kept."""

from decimal import Decimal

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from config.refusal import Refusal
from ledger import posting
from ledger.actions import charges, goods, unpaid_care
from ledger.audit import audit
from ledger.models import Charge, Entry
from tests.ledger import make
from tests.ledger.make import BALLAST, BRACKEN, BRINDLE_YARD, oct
from tests.ledger.test_attacks import rows


class Undo(Exception):
    """Takes back what one generated story has written."""


class Story:
    """Books in which numbers stand for what somebody does next; a refusal must leave them as they were."""

    def __init__(self) -> None:
        make.books()
        self.day = oct(2)
        self.step = 0
        self.funds = [
            make.general(),
            make.fund("Bracken's leg", "animal", subject_key=BRACKEN),
            make.fund("Dressings", "purpose", purpose={"dressing"}),
            make.fund("Yard fund", "partner", party_key=BRINDLE_YARD, is_restricted=False),
        ]

    def go(self, what: str, pick: int, amount: int) -> None:
        self.step += 1
        self.day = min(oct(28), self.day.replace(day=self.day.day + pick % 2))
        before = rows()
        try:
            with transaction.atomic():
                getattr(self, what)(pick, amount)
        except Refusal:
            assert rows() == before
        assert audit().findings == ()

    def common(self) -> dict:
        return {"by": 1, "today": self.day, "at": make.at(self.day)}

    def gift(self, pick: int, amount: int) -> None:
        on = self.day.replace(day=max(1, self.day.day - pick % 4))
        site = {"way": "giving_site", "fee_minor": amount // 30} if pick % 3 == 0 else {}
        make.gift(self.funds[pick % 4], amount, on, f"gift {self.step}", **site)

    def goods(self, pick: int, amount: int) -> None:
        goods.receive(
            key=make.key(f"goods {self.step}"),
            donor_id=None,
            words="bandages",
            quantity=Decimal(1),
            unit="box",
            fair_value_minor=amount,
            received_on=self.day,
            **self.common(),
        )

    def agree(self, pick: int, amount: int) -> None:
        make.agreed(1 + pick % 100, from_on=self.day, of="whole" if pick % 2 else "rest")

    def care(self, pick: int, amount: int) -> None:
        slips = [self.slip(f"{self.step} {line}", pick + line, amount) for line in range(1 + pick % 3)]
        charges.post_day(slips=slips, **self.common())

    def slip(self, name: str, pick: int, amount: int):
        return make.slip(
            name,
            subject_key=(BRACKEN, BALLAST)[pick % 2],
            party_key=BRINDLE_YARD if pick % 3 else "",
            traits=frozenset({"dressing"} if pick % 2 else {"boarding"}),
            asked_minor=amount,
            usual_minor=amount + pick % 50,
            goods_minor=pick % 5 * 10,
            care_on=self.day.replace(day=max(1, self.day.day - pick % 5)),
            late=pick % 4 == 0,
        )

    def correct(self, pick: int, amount: int) -> None:
        charge = self.one_of(Charge.objects.filter(reverses=None), pick)
        if charge:
            slip = self.slip(f"new {self.step}", pick, amount) if pick % 2 else None
            charges.correct(
                key=make.key(f"correct {self.step}"), charge_id=charge.id, slip=slip, why="Wrong.", **self.common()
            )

    def take_over(self, pick: int, amount: int) -> None:
        unpaid_care.take_over(
            key=make.key(f"take {self.step}"),
            subject_key=(BRACKEN, BALLAST)[pick % 2],
            payer=("given", "agreement", "fund")[pick % 3],
            fund_id=self.funds[pick % 4].id,
            most_minor=amount if pick % 2 else None,
            why="Decided.",
            **self.common(),
        )

    def reverse(self, pick: int, amount: int) -> None:
        entry = self.one_of(Entry.objects.all(), pick)
        if entry:
            posting.reverse(
                entry=entry, key=make.key(f"reverse {self.step}"), on=self.day, by=1, at=make.at(self.day), why="Wrong."
            )

    @staticmethod
    def one_of(found, pick: int):
        count = found.count()
        return found.order_by("id")[pick % count] if count else None


WHAT = ("gift", "gift", "goods", "agree", "care", "care", "correct", "take_over", "reverse")
steps = st.lists(st.tuples(st.sampled_from(WHAT), st.integers(0, 60), st.integers(1, 3_000)), min_size=4, max_size=14)


@pytest.mark.random
@pytest.mark.django_db
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(steps=steps)
def test_every_promise_is_kept_after_every_step(steps):
    try:
        with transaction.atomic():
            story = Story()
            for what, pick, amount in steps:
                story.go(what, pick, amount)
            raise Undo
    except Undo:
        pass
