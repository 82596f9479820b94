"""The money of the diary: gifts as they come, and the giving site's payout each Friday."""

from collections import defaultdict
from datetime import date

from clinic.actions.build_demo.diary import Diary, key, minor, repeated
from clinic.actions.build_demo.setting import Scene, open_fund
from ledger.actions import gifts, payouts

FRIDAY = 4


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
