"""A process that records a giving site's file, and one that tells what the books hold of it, whatever their numbers.

python -m tests.crash.gifts_at_work record FILE     the command, with the moment and the salts held
python -m tests.crash.gifts_at_work told            each table's rows as one digest, and the last entry's
"""

import csv
import json
import random
import secrets
import sys
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import django

SITE = "The giving site"
HEADS = ("Date", "Donor", "E-mail", "Amount", "Fee", "Reference", "Refund of", "Comment", "Frequency")
MOMENT = datetime(2026, 10, 31, 12, tzinfo=timezone.utc)  # noqa: UP017
FIRST, DAYS = date(2026, 10, 1), 30


def write_file(path: Path, *, count: int) -> None:
    """Gifts of a month, the latest first; each hundredth line gives one back, and two cannot stand."""
    dice = random.Random(1)
    with path.open("w", newline="") as out:
        file = csv.writer(out)
        file.writerow(HEADS)
        for number in range(count):
            donor, gross, on = dice.randrange(count // 10), dice.randint(5_00, 99_00), FIRST + timedelta(days=DAYS)
            on -= timedelta(days=number * DAYS // count)
            if number % 100 == 99:
                file.writerow((on, "", "", "-2.00", "", f"R-{number}", f"G-{number - 9}", "", ""))
                continue
            fee, words = 30 + gross * 29 // 1000, dice.choice(("", "for the wound fund", "thank you"))
            cells = (f"Donor {donor}", f"{donor}@mail.example", f"{gross / 100:.2f}", f"{fee / 100:.2f}")
            file.writerow((on, *cells, f"G-{number}", "", words, dice.choice(("once", "monthly"))))
        file.writerow((FIRST, "Nobody", "", "", "", "", "", "", ""))
        file.writerow((FIRST, "", "", "-5.00", "", "R-1", "G-none", "", ""))


def record(path: str) -> None:
    from django.core.management import call_command

    from config import clock

    clock.now = lambda: MOMENT
    secrets.token_hex = lambda size: "5a" * size
    print("ready", flush=True)
    call_command("import_gifts", path, "--source", SITE, "--by", "greta", "--keep-good")


def told() -> dict[str, str]:
    """Return each table's rows as a digest, by the entry's number, names and keys; a row's own number may differ."""
    from ledger.formulas import chain
    from ledger.models import Donor, Entry, FundDay, Gift, GiftReturn, Inflow, Posting, Use, WaitingGift

    tables = {
        "entries": Entry.objects.values_list("id", "kind", "on", "key", "legs", "by", "words__note"),
        "postings": Posting.objects.values_list("entry", "leg", "on", "debit", "credit", "fund__name", "amount_minor"),
        "gifts": Gift.objects.values_list(
            "entry", "donor__key", "way", "received_on", "amount_minor", "fee_minor", "is_recurring"
        ),
        "returns": GiftReturn.objects.values_list("entry", "gift__entry", "how", "amount_minor"),
        "inflows": Inflow.objects.values_list("entry", "fund__name", "received_on", "amount_minor", "left_minor"),
        "uses": Use.objects.values_list("entry", "posting__leg", "inflow__entry", "amount_minor"),
        "days": FundDay.objects.values_list("fund__name", "on", "closing_minor"),
        "donors": Donor.objects.values_list("key", "name", "email"),
        "waiting": WaitingGift.objects.values_list("key", "line", "since_on"),
    }
    found = {name: chain.digest(sorted(map(chain.canonical, rows))) for name, rows in tables.items()}
    return found | {"last": Entry.objects.order_by("-id").values_list("digest", flat=True)[0]}


if __name__ == "__main__":
    django.setup()
    record(sys.argv[2])
    if "told" in sys.argv:
        print(json.dumps(told()))
