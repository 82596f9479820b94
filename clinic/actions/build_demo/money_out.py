"""The diary's other money: transfers, spending, the practice, partners' payments, a condition, and bills."""

import csv
import io
from collections import defaultdict
from collections.abc import Callable
from datetime import date
from pathlib import Path

from clinic.actions import bills
from clinic.actions.build_demo.diary import Diary, key, minor, repeated
from clinic.actions.build_demo.setting import Scene
from config import uploads
from ledger.actions import (
    conditional_gifts,
    gift_files,
    partner_money,
    practice,
    scans,
    spending,
    transfers,
    waiting_gifts,
)
from ledger.queries import gift_files as gift_file_query

KINDS = ("transfer", "spending", "practice", "partner_pays", "condition", "bill", "gift_file")


class MoneyOut:
    """Everything of the diary that moves money and is neither a gift nor care, day by day."""

    def __init__(self, diary: Diary, scene: Scene, *, folder: Path) -> None:
        self.diary, self.scene, self.folder = diary, scene, folder
        self.on: dict[date, list[tuple[str, dict]]] = defaultdict(list)
        for kind in KINDS:
            for said in diary.says.get(kind, ()):
                for offset in repeated(said):
                    self.on[diary.day(offset)].append((kind, said))
        for said in diary.says.get("bill", ()):
            if "paid" in said:
                self.on[diary.day(said["paid"])].append(("bill_paid", said))
        self.bills: dict[str, bills.Bill] = {}

    def live(self, day: date) -> None:
        for kind, said in self.on[day]:
            act: Callable[[dict, date], object] = getattr(self, f"_{kind}")
            act(said, day)

    def _common(self, said: dict, day: date, name: str, hour: int = 11) -> dict:
        facts = {"key": key(f"{name} {day}"), "by": self.scene.people["greta"].pk, "today": day}
        if "amount" in said:
            facts["amount_minor"] = minor(said["amount"])
        return facts | {"at": self.diary.moment(day, hour)}

    def _gift_file(self, said: dict, day: date) -> None:
        """A giving site's list is brought and read; nobody has recorded its gifts yet, and what cannot stand waits."""
        heads = ("Gift date", "Donor", "E-mail", "Gross amount", "Fee", "Reference", "Comment", "Type")
        rows = [(self.diary.day(days).isoformat(), *cells) for days, *cells in said["rows"]]
        text = io.StringIO()
        csv.writer(text).writerows([heads, *rows])
        file = gift_files.bring(
            key=key(f"gift file {day}"),
            source=said["source"],
            content=text.getvalue().encode(),
            name=said["name"],
            by=self.scene.people["greta"].pk,
            at=self.diary.moment(day, 16),
        )
        gift_files.say(
            source=file.source,
            columns=dict(
                zip(("on", "name", "email", "gross", "fee", "reference", "words", "kind"), heads, strict=True)
            ),
            way="giving_site",
            decimal="",
            day_first=None,
            fund_id=self.scene.funds["General"],
            rules=[(words, self.scene.funds[fund]) for words, fund in said["rules"]],
        )
        found = gift_file_query.preview(file=file, table=gift_file_query.table_of(file), today=day)
        waiting_gifts.keep(file=file, wrong=found.wrong, by=self.scene.people["greta"].pk, on=day)

    def _transfer(self, said: dict, day: date) -> None:
        transfers.transfer(
            **self._common(said, day, f"transfer {said['from']}"),
            from_fund_id=self.scene.funds[said["from"]],
            to_fund_id=self.scene.funds[said["to"]],
            on=day,
            words=said["words"],
        )

    def _spending(self, said: dict, day: date) -> None:
        spending.spend(
            **self._common(said, day, f"spending {said['words']}"),
            kind=said["kind"],
            fund_id=self.scene.funds[said["fund"]],
            on=day,
            words=said["words"],
        )

    def _practice(self, said: dict, day: date) -> None:
        practice.pay(**self._common(said, day, "practice"), on=day, words=said["words"])

    def _partner_pays(self, said: dict, day: date) -> None:
        partner = self.scene.partners[said["partner"]]
        partner_money.pay(
            **self._common(said, day, f"partner {said['partner']}"),
            party_key=partner.key,
            on=day,
            words=said.get("words", ""),
        )

    def _condition(self, said: dict, day: date) -> None:
        conditional_gifts.receive(
            **self._common(said, day, f"condition {said['donor']}"),
            donor_id=self.scene.donors[said["donor"]],
            fund_id=self.scene.funds[said["fund"]],
            condition=said["condition"],
            received_on=day,
            until_on=self.diary.day(said["by_when"]),
        )

    def _bill(self, said: dict, day: date) -> None:
        """Somebody photographs it in the morning; where its amount is known, the bookkeeper enters it."""
        name = f"bill {said['sender']} {said['animal']}"
        bill = bills.add(
            key=key(name),
            animal=self.scene.animals[said["animal"]],
            sender=said["sender"],
            words=said["words"],
            care_on=day,
            file=uploads.keep((self.folder / "bill.png").read_bytes()),
            by=self.scene.people["pilar"],
            today=day,
            at=self.diary.moment(day, 10),
        )
        self.bills[name] = bill
        if "amount" in said:
            check = bills.give if said.get("given") else bills.accept
            check(
                bill=bill,
                amount_minor=minor(said["amount"]),
                care_on=day,
                number=said.get("number", ""),
                by=self.scene.people["greta"],
                today=day,
                at=self.diary.moment(day, 16),
            )

    def _bill_paid(self, said: dict, day: date) -> None:
        name = f"bill {said['sender']} {said['animal']}"
        bill = self.bills[name]
        bill.refresh_from_db()
        by, at = self.scene.people["greta"], self.diary.moment(day, 11)
        number = bills.pay(key=key(f"{name} paid"), bill=bill, on=day, by=by, today=day, at=at)
        paper = uploads.keep((self.folder / "bill.png").read_bytes())
        scans.hang(key=key(f"{name} scan"), number=number, name=f"Bill {bill.number}", file=paper, by=by.pk, at=at)
