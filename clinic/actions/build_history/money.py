"""The money of an invented past: gifts to every kind of fund, payouts, transfers, corrections, and care taken over."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, datetime, timedelta

from clinic.actions.build_demo.diary import Diary
from clinic.actions.build_demo.setting import Scene
from clinic.actions.build_history.chances import Chances
from clinic.actions.build_history.ward import Lodger, Ward
from clinic.formulas import sheet_keys
from ledger.actions import (
    charges,
    donors,
    funds,
    gifts,
    leftovers,
    partner_money,
    payouts,
    periods,
    practice,
    returns,
    transfers,
    unpaid_care,
)
from ledger.queries import charges as charge_query
from ledger.queries.balances import balances
from ledger.queries.fund_choices import fund_choices
from ledger.queries.owed import parties_money
from ledger.queries.unpaid_care import unpaid_animals

GIFTS = ((11, 1), (14, 2), (16, 3), (18, 3), (22, 1))  # a day: some 6,000 a year
AMOUNTS = ((10_00, 20), (25_00, 28), (50_00, 24), (100_00, 18), (200_00, 7), (500_00, 3))
GO_TO = (("General", 58), ("partner", 10), ("purpose", 16), ("animal", 16))
PURPOSES = (("Surgery fund", 4), ("Wound fund", 3), ("Cats first", 3), ("Pictures fund", 1))
MORE_FUNDS = (
    ("Cats first", "purpose", ("species:cat",), "the care of cats"),
    ("Pictures fund", "purpose", ("imaging",), "radiographs"),
    ("Legacy of a friend", "reserve", (), "the years to come"),
)
LEFTOVER = "What is not needed goes to general care."
FRIDAY = 4
LEGACY, FED, LOW = 24_000_00, 3_000_00, 3_000_00
MONTHS_END = 10  # the day on which the month before is brought to its end
SITE_FEE = 33  # one part in so many


class Money:
    """What comes in and goes out, day by day."""

    def __init__(self, diary: Diary, scene: Scene, chances: Chances) -> None:
        self.diary, self.scene, self.chances = diary, scene, chances
        self.donors: list[int] = list(scene.donors.values())
        self.held: dict[int, int] = defaultdict(int)  # what the giving site keeps for each fund
        self.of_animal: dict[str, int] = {}  # the funds of animals, by the animal's key
        self.of_partners = [choice.id for choice in fund_choices() if choice.party_key]
        self.recent: list[int] = []  # the latest gifts by the bank
        self.greta, self.amos = scene.people["greta"].pk, scene.people["amos"].pk
        for name, kind, purpose, given_for in MORE_FUNDS:
            self._open(name, kind, diary.first, purpose=purpose, given_for=given_for, restricted=kind == "purpose")

    def live(self, day: date, ward: Ward) -> None:
        """Open and end the funds of animals, receive the day's gifts, mend what was wrong, and decide once a month."""
        for lodger in ward.came:
            if self.chances.of_hundred(10):
                self._open_for(lodger, day)
        for lodger in ward.left:
            self._end_of(lodger, day)
        for _ in range(self.chances.weighted(GIFTS)):
            self._receive(day)
        if day.weekday() == FRIDAY:
            self._paid_out(day)
        if self.chances.one_in(4):
            self._correct(day, ward)
        if self.chances.one_in(25) and self.recent:
            self._give_back(day)
        if day.day == MONTHS_END:
            self._decide(day)

    def _open(self, name: str, kind: str, on: date, *, restricted: bool = False, **facts) -> int:
        opened = funds.open(
            key=self.chances.key(),
            kind=kind,
            name=name,
            is_restricted=restricted,
            leftover=LEFTOVER if restricted else "",
            on=on,
            by=self.greta,
            **facts,
        )
        self.scene.funds[name] = opened.pk
        return opened.pk

    def _open_for(self, lodger: Lodger, day: date) -> None:
        animal = lodger.stay.animal
        name = f"{animal.name} {animal.number}"
        given_for = f"the care of {animal.name}"
        self.of_animal[animal.key] = self._open(
            name, "animal", day, restricted=True, subject_key=animal.key, given_for=given_for
        )

    def _end_of(self, lodger: Lodger, day: date) -> None:
        """What is left of the fund of an animal that left goes under its clause, and the fund closes."""
        fund = self.of_animal.pop(lodger.stay.animal.key, None)
        if fund is None:
            return
        general = self.scene.funds["General"]
        if balances()[fund]:
            leftovers.move(
                key=self.chances.key(), fund_id=fund, to_fund_id=general, why=LEFTOVER, **self._said(day, self.amos)
            )
        funds.close(fund_id=fund, on=day)

    def _receive(self, day: date) -> None:
        fund, by_site = self._goes_to(), self.chances.of_hundred(35)
        amount = self.chances.weighted(AMOUNTS) + self.chances.between(0, 9) * 100
        fee = amount // SITE_FEE if by_site else 0
        gift = gifts.receive(
            key=self.chances.key(),
            donor_id=self._donor(day),
            fund_id=fund,
            amount_minor=amount,
            fee_minor=fee,
            way="giving_site" if by_site else "bank",
            received_on=day,
            **self._said(day, self.greta),
        )
        if by_site:
            self.held[fund] += amount - fee
        else:
            self.recent = [*self.recent[-40:], gift.pk]

    def _goes_to(self) -> int:
        where = self.chances.weighted(GO_TO)
        if where == "animal" and self.of_animal:
            return self.chances.one_of(list(self.of_animal.values()))
        if where == "purpose":
            return self.scene.funds[self.chances.weighted(PURPOSES)]
        if where == "partner":
            return self.chances.one_of(self.of_partners)
        return self.scene.funds["General"]

    def _donor(self, day: date) -> int | None:
        if self.chances.of_hundred(4):
            return None
        if self.donors and not self.chances.of_hundred(10):
            return self.chances.one_of(self.donors)
        added = donors.add(key=self.chances.key(), name=self.chances.person(), on=day, by=self.greta)
        self.donors.append(added.pk)
        return added.pk

    def _paid_out(self, day: date) -> None:
        amounts = {fund: minor for fund, minor in self.held.items() if minor}
        if amounts:
            payouts.pay_out(key=self.chances.key(), amounts=amounts, on=day, **self._said(day, self.greta))
        self.held.clear()

    def _correct(self, day: date, ward: Ward) -> None:
        """A night of yesterday is taken back."""
        yesterday = day - timedelta(days=1)
        keys = [sheet_keys.boarding(yesterday, animal_key=lodger.stay.animal.key) for lodger in ward.lodgers]
        lines = [line for line in charge_query.of_keys(slip_keys=keys).values() if line.reversed_by is None]
        if lines:
            charges.correct(
                key=self.chances.key(),
                charge_id=self.chances.one_of(sorted(line.charge_id for line in lines)),
                slip=None,
                why="The clinic asks nothing for this night.",
                **self._said(day, self.amos),
            )

    def _give_back(self, day: date) -> None:
        """One of the latest gifts by the bank goes back, spent or not."""
        gift = self.recent.pop(self.chances.between(0, len(self.recent) - 1))
        returns.give_back(
            key=self.chances.key(), gift_id=gift, how="refund", why="Given twice.", **self._said(day, self.greta)
        )

    def _decide(self, day: date) -> None:
        """Once a month unpaid care is taken over, what is owed is paid, and the month before is closed."""
        self._feed(day)
        for animal in unpaid_animals():
            unpaid_care.take_over(
                key=self.chances.key(),
                subject_key=animal.subject_key,
                payer="given",
                why="Decided at month’s end.",
                **self._said(day, self.amos),
            )
        for party_key, _, due, _ in parties_money():
            if due > 0:
                partner_money.pay(
                    key=self.chances.key(), party_key=party_key, amount_minor=due, on=day, **self._said(day, self.greta)
                )
        practice.pay(key=self.chances.key(), on=day, **self._said(day, self.greta))
        through = day.replace(day=1) - timedelta(days=1)
        if through >= self.diary.first:
            periods.close(key=self.chances.key(), through_on=through, **self._said(day, self.amos))

    def _feed(self, day: date) -> None:
        """The reserve feeds general money when it runs low; when it is empty somebody leaves the house a legacy."""
        reserve, general = self.scene.funds["Legacy of a friend"], self.scene.funds["General"]
        standing = balances()
        if standing[general] >= LOW:
            return
        if standing[reserve] < FED:
            gifts.receive(
                key=self.chances.key(),
                donor_id=self._donor(day),
                fund_id=reserve,
                amount_minor=LEGACY,
                received_on=day,
                **self._said(day, self.greta),
            )
        transfers.transfer(
            key=self.chances.key(),
            from_fund_id=reserve,
            to_fund_id=general,
            amount_minor=FED,
            on=day,
            **self._said(day, self.amos),
        )

    def _said(self, day: date, by: int) -> dict[str, date | datetime | int]:
        return {"by": by, "today": day, "at": self.diary.moment(day, 11)}
