"""Whatever people do, in whatever order: after every step every promise of the books is kept."""

import os
from contextlib import suppress
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from config.refusal import Refusal
from ledger import posting
from ledger.actions import (
    agreements,
    charges,
    commitments,
    conditional_gifts,
    gifts,
    goods,
    leftovers,
    limits,
    partner_money,
    periods,
    practice,
    returns,
    spending,
    standing_decisions,
    transfers,
    unpaid_care,
)
from ledger.audit import audit
from ledger.models import Advance, Charge, Entry, Fund, Gift
from tests.conftest import SOAK
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
            make.fund("A legacy", "reserve", is_restricted=False),
        ]
        make.opened(self.funds[4], 60_00)

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
        make.gift(self.funds[pick % 5], amount, on, f"gift {self.step}", **site)

    def split_gift(self, pick: int, amount: int) -> None:
        parts = {self.funds[pick % 5].id: amount, self.funds[(pick + 1) % 5].id: amount // 2 + 1}
        site = {"way": "giving_site", "fee_minor": amount // 20} if pick % 2 else {}
        gifts.receive(
            key=make.key(f"split {self.step}"),
            donor_id=None,
            amount_minor=sum(parts.values()),
            parts=parts,
            received_on=self.day,
            **site,
            **self.common(),
        )

    def conditional(self, pick: int, amount: int) -> None:
        conditional_gifts.receive(
            key=make.key(f"advance {self.step}"),
            donor_id=None,
            fund_id=self.funds[pick % 5].id,
            amount_minor=amount,
            condition="when the ward has a second nurse",
            received_on=self.day,
            **self.common(),
        )

    def settle(self, pick: int, amount: int) -> None:
        advance = self.one_of(Advance.objects.all(), pick)
        if advance:
            settle = conditional_gifts.meet if pick % 2 else conditional_gifts.fail
            settle(
                key=make.key(f"settle {self.step}"),
                advance_id=advance.id,
                on=self.day,
                why="So it is.",
                **self.common(),
            )

    def give_back(self, pick: int, amount: int) -> None:
        gift = self.one_of(Gift.objects.exclude(way="goods"), pick)
        if gift:
            returns.give_back(
                key=make.key(f"back {self.step}"),
                gift_id=gift.id,
                how=("refund", "chargeback", "mistyped")[pick % 3],
                amount_minor=amount if pick % 2 else None,
                why="It went back.",
                **self.common(),
            )

    def transfer(self, pick: int, amount: int) -> None:
        transfers.transfer(
            key=make.key(f"transfer {self.step}"),
            from_fund_id=self.funds[(0, 3, 4, 4, pick % 5)[pick % 5]].id,
            to_fund_id=self.funds[(3, 0, 0, 3, pick % 4)[pick % 5]].id,
            amount_minor=amount,
            on=self.day,
            **self.common(),
        )

    def leave_over(self, pick: int, amount: int) -> None:
        leftovers.move(
            key=make.key(f"leftover {self.step}"),
            fund_id=self.funds[1 + pick % 2].id,
            to_fund_id=self.funds[0].id,
            why="It left.",
            **self.common(),
        )

    def close(self, pick: int, amount: int) -> None:
        """Close some days, after the clinic took over what nobody had paid of them."""
        for subject_key in (BRACKEN, BALLAST):
            with suppress(unpaid_care.NothingUnpaid):
                unpaid_care.take_over(
                    key=make.key(f"{subject_key} before {self.step}"),
                    subject_key=subject_key,
                    payer="given",
                    why="The month ends.",
                    **self.common(),
                )
        through = self.day - timedelta(days=1 + pick % 9)
        periods.close(key=make.key(f"close {self.step}"), through_on=through, **self.common())

    def reopen(self, pick: int, amount: int) -> None:
        periods.reopen(key=make.key(f"reopen {self.step}"), why="A bill came late.", **self.common())

    def spend(self, pick: int, amount: int) -> None:
        spending.spend(
            key=make.key(f"spend {self.step}"),
            kind=("management", "fundraising")[pick % 2],
            fund_id=self.funds[pick % 5].id,
            amount_minor=amount,
            words="stamps",
            on=self.day,
            **self.common(),
        )

    def pay_practice(self, pick: int, amount: int) -> None:
        most = amount if pick % 2 else None
        practice.pay(key=make.key(f"practice {self.step}"), on=self.day, amount_minor=most, **self.common())

    def partner(self, pick: int, amount: int) -> None:
        ways = ("pay", "deposit", "use_deposit", "return_deposit", "give_up")
        getattr(partner_money, ways[pick % 5])(
            key=make.key(f"partner {self.step}"),
            party_key=BRINDLE_YARD,
            amount_minor=amount,
            on=self.day,
            words="as told",
            **self.common(),
        )

    def commit(self, pick: int, amount: int) -> None:
        common = {"on": self.day, "by": 1}
        if pick % 4 == 0:
            commitments.free(plan_key="c" * 32, why="It ended.", **common)
            return
        commitments.commit(
            key=make.key(f"commit {self.step}"),
            subject_key=(BRACKEN, BALLAST)[pick % 2],
            party_key=BRINDLE_YARD,
            plan_key="c" * 32,
            amounts={self.funds[pick % 5].id: amount},
            **common,
        )

    def limit(self, pick: int, amount: int) -> None:
        if pick % 5 == 0:
            limits.set_ceiling(plan_key="c" * 32, subject_key=BRACKEN, most_minor=amount, on=self.day, by=1)
            return
        shared = Fund.objects.filter(kind="agreement").values_list("id", flat=True)
        fund_ids = [*(fund.id for fund in self.funds), *shared]
        limits.limit(
            key=make.key(f"limit {self.step}"),
            fund_id=fund_ids[pick % len(fund_ids)],
            per=("animal", "month", "animal_month")[pick % 3],
            most_minor=amount,
            from_on=self.day.replace(day=1 + pick % 3),
            by=1,
        )

    def stand(self, pick: int, amount: int) -> None:
        standing_decisions.decide(
            key=make.key(f"stand {self.step}"),
            subject_key=(BRACKEN, BALLAST)[pick % 2],
            take=("given", "agreement")[pick % 3 == 0],
            most_minor=amount if pick % 2 else None,
            from_on=self.day,
            why="Promised.",
            by=1,
            at=make.at(self.day),
        )

    def bill(self, pick: int, amount: int) -> None:
        agreements.bill_month(party_key=BRINDLE_YARD, month=self.day, on=self.day, by=1)

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
            traits=frozenset({"dressing"} if pick % 2 else {"boarding"}) | ({"emergency"} if pick % 7 == 0 else set()),
            plan_key="c" * 32 if pick % 3 == 0 else "",
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


OFTEN = ("gift", "care", "care", "correct", "give_back", "take_over", "reverse")
SELDOM = ("split_gift", "goods", "agree", "conditional", "settle", "transfer", "leave_over", "close", "reopen", "spend")
SELDOM += ("pay_practice", "partner", "commit", "limit", "stand", "bill")
STEPS = 50
step = st.tuples(st.sampled_from((*OFTEN, *OFTEN, *SELDOM)), st.integers(0, 60), st.integers(1, 3_000))
steps = st.lists(step, min_size=STEPS, max_size=STEPS)
ON_POSTGRESQL = os.environ.get("DATABASE_URL", "").startswith("postgres")
RUNS = {(False, False): 40, (False, True): 10, (True, False): 200, (True, True): 50}[SOAK, ON_POSTGRESQL]


@pytest.mark.random
@pytest.mark.django_db
@settings(
    max_examples=RUNS,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow, HealthCheck.data_too_large],
)
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
