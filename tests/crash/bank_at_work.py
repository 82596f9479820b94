"""A process that posts to the books, one thing after another, and says the key of each once it is kept.

    python -m tests.crash.bank_at_work write SEED COUNT      gifts, care, transfers, reversals and returned gifts
    python -m tests.crash.bank_at_work read SECONDS          trial balances, each read in one statement

What a writer does follows from its seed alone, as far as the books that it meets allow it.
"""

import random
import sys
import time
import uuid

import django

# Rows that break the promise: for each fund the kept balance = its postings = unspent money less shortfalls, no
# restricted fund below zero, and transfers over all funds sum to zero. One statement sees one moment.
BROKEN = """
WITH moves AS (
    SELECT p.fund_id, sum(p.amount_minor * (CASE WHEN c.kind IN ('income', 'expense') THEN 1 ELSE 0 END
        - CASE WHEN d.kind IN ('income', 'expense') THEN 1 ELSE 0 END)) AS minor
    FROM ledger_posting p JOIN ledger_entry e ON e.id = p.entry_id
    JOIN ledger_account d ON d.code = p.debit_id JOIN ledger_account c ON c.code = p.credit_id GROUP BY p.fund_id),
kept AS (
    SELECT d.fund_id, d.closing_minor AS minor FROM ledger_fundday d
    WHERE d."on" = (SELECT max(l."on") FROM ledger_fundday l WHERE l.fund_id = d.fund_id)),
unspent AS (SELECT fund_id, sum(left_minor) AS minor FROM ledger_inflow GROUP BY fund_id),
short AS (SELECT fund_id, sum(left_minor) AS minor FROM ledger_shortfall GROUP BY fund_id)
SELECT f.name, coalesce(k.minor, 0), coalesce(m.minor, 0), coalesce(u.minor, 0) - coalesce(s.minor, 0)
FROM ledger_fund f LEFT JOIN moves m ON m.fund_id = f.id LEFT JOIN kept k ON k.fund_id = f.id
LEFT JOIN unspent u ON u.fund_id = f.id LEFT JOIN short s ON s.fund_id = f.id
WHERE coalesce(k.minor, 0) <> coalesce(m.minor, 0)
   OR coalesce(m.minor, 0) <> coalesce(u.minor, 0) - coalesce(s.minor, 0)
   OR f.is_restricted AND coalesce(m.minor, 0) < 0
UNION ALL
SELECT 'transfers', total, 0, 0 FROM (
    SELECT coalesce(sum(CASE WHEN debit_id = 'transfers' THEN amount_minor ELSE -amount_minor END), 0) AS total
    FROM ledger_posting WHERE debit_id = 'transfers' OR credit_id = 'transfers') moved WHERE total <> 0
"""


class Writer:
    def __init__(self, seed: int) -> None:
        from ledger.models import Fund

        self.dice = random.Random(seed)
        self.funds = {fund.name: fund.id for fund in Fund.objects.all()}
        self.gifts: list[int] = []
        self.charges: list[int] = []

    def act(self) -> uuid.UUID:
        """Do one thing in one durable transaction, and return its key."""
        from django.db import transaction

        from config.refusal import Refusal

        while True:
            what = self.dice.choice(("gift", "gift", "care", "care", "care", "transfer", "correct", "give_back"))
            key = uuid.UUID(int=self.dice.getrandbits(128))
            try:
                with transaction.atomic(durable=True):
                    done = getattr(self, what)(key)
            except Refusal:
                continue  # the fund has less by now, or the line was corrected: a person reads why
            if done:
                return key

    def gift(self, key: uuid.UUID) -> bool:
        from ledger.actions import gifts
        from tests.ledger import make

        name = self.dice.choice(("General", "Wound fund", "Bracken's leg", "A legacy"))
        amount = self.dice.randint(1, 90_00)
        made = gifts.receive(
            key=key, donor_id=None, fund_id=self.funds[name], amount_minor=amount, received_on=make.oct(14), **said()
        )
        self.gifts.append(made.id)
        return True

    def care(self, key: uuid.UUID) -> bool:
        from ledger.actions import charges
        from tests.ledger import make

        asked = self.dice.randint(1, 60_00)
        slip = make.slip(
            "care",
            key=key,
            subject_key=self.dice.choice((make.BRACKEN, make.BALLAST)),
            party_key=make.BRINDLE_YARD,
            traits=frozenset({self.dice.choice(("dressing", "boarding"))}),
            care_on=make.oct(self.dice.randint(10, 14)),
            asked_minor=asked,
            usual_minor=asked + 500,
        )
        self.charges.append(charges.post_day(slips=[slip], **said()).lines[0].charge_id)
        return True

    def transfer(self, key: uuid.UUID) -> bool:
        from ledger.actions import transfers
        from tests.ledger import make

        one, other = self.dice.sample(("General", "A legacy"), 2)
        transfers.transfer(
            key=key,
            from_fund_id=self.funds[one],
            to_fund_id=self.funds[other],
            amount_minor=self.dice.randint(1, 20_00),
            on=make.oct(14),
            **said(),
        )
        return True

    def correct(self, key: uuid.UUID) -> bool:
        from ledger.actions import charges
        from ledger.models import Entry

        if not self.charges:
            return False
        done = charges.correct(key=key, charge_id=self.dice.choice(self.charges), slip=None, why="Wrong.", **said())
        Entry.objects.get(id=done.reversal.id)
        return True

    def give_back(self, key: uuid.UUID) -> bool:
        from ledger.actions import returns

        if not self.gifts:
            return False
        returns.give_back(key=key, gift_id=self.dice.choice(self.gifts), how="refund", why="Asked.", **said())
        return True


def said() -> dict:
    from tests.ledger import make

    return {"by": make.BOOKKEEPER, "today": make.oct(14), "at": make.at(make.oct(14))}


def write(seed: int, count: int) -> None:
    writer = Writer(seed)
    say("ready")
    for _ in range(count):
        say("kept", writer.act())


def read(seconds: float) -> None:
    from django.db import connection

    say("ready")
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        with connection.cursor() as cursor:
            cursor.execute(BROKEN)
            for row in cursor.fetchall():
                say("broken", *row)
        say("read")


def say(*words: object) -> None:
    print(*words, flush=True)


if __name__ == "__main__":
    django.setup()
    if sys.argv[1] == "write":
        write(int(sys.argv[2]), int(sys.argv[3]))
    else:
        read(float(sys.argv[2]))
