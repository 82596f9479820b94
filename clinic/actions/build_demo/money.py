"""The money of the diary: gifts as they come, the giving site's payout each Friday, and each month's end."""

from collections import defaultdict
from datetime import date, timedelta

from clinic.actions.build_demo.diary import Diary, key, minor, repeated
from clinic.actions.build_demo.setting import Scene, open_fund
from ledger.actions import carrying, gifts, payouts, periods
from ledger.queries import month_end
from ledger.queries.periods import begun_on

FRIDAY = 4
CLOSES_ON = 5  # the day on which the month before is closed


class Money:
    def __init__(self, diary: Diary, scene: Scene) -> None:
        self.diary, self.scene = diary, scene
        self.gifts: dict[date, list[dict]] = defaultdict(list)
        for gift in diary.says["gift"]:
            for offset in repeated(gift):
                self.gifts[diary.day(offset)].append(gift)
        self.opens = {diary.day(fund["day"]): fund for fund in diary.says["fund"] if "day" in fund}
        self.held: dict[int, int] = defaultdict(int)  # what the giving site keeps for each fund

    def live(self, day: date) -> None:
        """Open what opens, receive what comes, and have the site pay out."""
        if day in self.opens:
            open_fund(self.diary, self.scene, self.opens[day])
        for gift in self.gifts[day]:
            self._receive(gift, day)
        if day.weekday() == FRIDAY and any(self.held.values()):
            payouts.pay_out(
                key=key(f"payout {day}"),
                amounts={fund: amount for fund, amount in self.held.items() if amount},
                on=day,
                by=self.scene.people["greta"].pk,
                today=day,
                at=self.diary.moment(day, 10),
                words="weekly payout",
            )
            self.held.clear()

    def close_month(self, day: date) -> None:
        """Close the month before, its open care carried by name; the one just over waits for somebody to read it."""
        if day.day != CLOSES_ON or (day.year, day.month) == (self.diary.as_of.year, self.diary.as_of.month):
            return
        through_on = day.replace(day=1) - timedelta(days=1)
        if begun_on() > through_on:
            return
        said = {"by": self.scene.people["greta"].pk, "today": day, "at": self.diary.moment(day, 11)}
        waits = [f"care {row.animal.subject_key}" for row in month_end.undecided(through_on=through_on)]
        if waits:
            why = "The partners decide at their next meeting."
            carrying.carry(key=key(f"carry {through_on}"), things=waits, through_on=through_on, why=why, **said)
        periods.close(key=key(f"close {through_on}"), through_on=through_on, **said)

    def _receive(self, gift: dict, day: date) -> None:
        fund, by_site = self.scene.funds[gift["fund"]], "fee" in gift
        fee = minor(gift.get("fee", "0"))
        gifts.receive(
            key=key(f"gift {gift.get('donor', '')} {gift['fund']} {day}"),
            donor_id=self.scene.donors.get(gift.get("donor")),
            fund_id=fund,
            amount_minor=minor(gift["amount"]),
            fee_minor=fee,
            way="giving_site" if by_site else "bank",
            words=gift.get("words", ""),
            received_on=day,
            by=self.scene.people["greta"].pk,
            today=day,
            at=self.diary.moment(day, 9, 30),
        )
        if by_site:
            self.held[fund] += minor(gift["amount"]) - fee
