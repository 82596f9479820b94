"""The bank's statement of the demo: what the books say has reached the bank, as a bank would write it.

Checks come together once a week, the last days' are still on their way; a payout has come of which the books know
nothing, and a line that nobody can place.
"""

import csv
import io
from collections import defaultdict
from datetime import date, timedelta

from clinic.actions.build_demo.diary import Diary, key, minor
from clinic.actions.build_demo.setting import Scene
from ledger.actions import bank_files, bank_matches
from ledger.actions.bank_matches import Hand
from ledger.formulas import money
from ledger.queries import holder
from ledger.queries.bank_open import BankEntry, open_entries
from ledger.queries.bank_payouts import at_sites
from ledger.queries.bank_proposals import proposals
from ledger.queries.sums import balances_at, last_number

BANK, GIFT = "bank", "gift"
ON_THE_WAY = 2  # days
READ_UNTIL = 5  # days ago: what came since waits to be confirmed
Line = tuple[date, int, str, str]


def bring_statement(diary: Diary, scene: Scene) -> None:
    """Bring the statement of the month so far, and confirm what is certain of its earlier days."""
    paying = {str(minor(one["amount"])): one["partner"] for one in diary.says.get("partner_pays", ())}
    said, greta = diary.says["bank"] | {"partners": paying}, scene.people["greta"].pk
    until = diary.as_of - timedelta(days=1)
    since = (until - timedelta(days=6)).replace(day=1)
    lines = _lines(said, since=since, until=until)
    at = diary.moment(diary.as_of, 7, 40)
    file = bank_files.bring(
        key=key("bank account"),
        content=_table(lines, opening=_opening(since)),
        name=said["name"],
        account=said["account"],
        by=greta,
        at=at,
    )
    bank_files.take_in(file=file, today=diary.as_of, by=greta, at=at)
    known = [one for _, one in proposals(today=diary.as_of) if one and one.is_certain and one.entries]
    read = diary.as_of - timedelta(days=READ_UNTIL)
    tokens = {one.line.line_id: one.token for one in known if one.line.on <= read}
    bank_matches.confirm(tokens=tokens, hand=Hand(by=greta, today=diary.as_of, at=at))


def _lines(said: dict, *, since: date, until: date) -> list[Line]:
    entries = [one for one in open_entries(since=since, until=until) if one.kind != "opening"]
    checks = [one for one in entries if one.kind == GIFT and one.amount_minor > 0]
    others = [one for one in entries if one not in checks]
    found = [(one.on, one.amount_minor, *_told(one, said)) for one in others]
    weeks: dict[tuple[int, int], list[BankEntry]] = defaultdict(list)
    for one in checks:
        if one.on <= until - timedelta(days=ON_THE_WAY):
            weeks[one.on.isocalendar()[:2]].append(one)
    for together in weeks.values():
        on = min(max(one.on for one in together) + timedelta(days=1), until)
        found.append((on, sum(one.amount_minor for one in together), said["deposit"], ""))
    held = sum(minor for _, minor in at_sites(today=until).days)
    if held > 0:
        found.append((until, held, said["site"], said["payout"]))
    unknown = (until - timedelta(days=3), minor(said["unknown"]["amount"]), said["unknown"]["who"], "")
    return sorted([*found, unknown])


def _told(one: BankEntry, said: dict) -> tuple[str, str]:
    """Who stands at the other end, and what the bank says of it."""
    if one.kind == "bill_paid":
        return one.words.rpartition(" of ")[2], one.words.partition(", ")[2].rpartition(" of ")[0]
    if one.kind == "partner_paid":
        return said["partners"].get(str(one.amount_minor), ""), one.words
    return {"payout": said["site"], "paid": said["practice"]}.get(one.kind, one.who), one.words[:60]


def _opening(since: date) -> int:
    return sum(balances_at(on=since - timedelta(days=1), as_of=last_number(), accounts=(BANK,)).values())


def _table(lines: list[Line], *, opening: int) -> bytes:
    """A table as the bank gives it: the balance after each line."""
    text, standing, currency = io.StringIO(), opening, holder.holder().currency
    writer = csv.writer(text)
    writer.writerow(("Date", "Name", "Details", "Amount", "Balance"))
    for on, amount, who, words in lines:
        standing += amount
        writer.writerow((on.isoformat(), who, words, *(money.from_minor(one, currency) for one in (amount, standing))))
    return text.getvalue().encode()
