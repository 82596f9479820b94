"""How the books grow: a past of ten years beside its first month, each measured in a process of its own.

The past is built once into var/bench, by the command that anybody can run, and used again; migrations that came
since are applied to it. `python -m tests.benchmarks.bench_history WHAT` measures one thing in the database of
DATABASE_URL and prints it as JSON; the rows that the bench prints compare two such measurements.
"""

import json
import os
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from datetime import date, timedelta
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent.parent
AS_OF = date(2026, 10, 14)
YEARS, SEED, FIRST_DAYS = 10, 1, 31
ROUNDS, TURNS = 12, 3
Row = tuple[str, float, float]

# Pages that ask for a period: the last month of both pasts.
PERIOD = {"from_on": (AS_OF - timedelta(days=30)).isoformat(), "to_on": AS_OF.isoformat()}


def rows() -> list[Row]:
    """Return (what is measured, the ratio, at most)."""
    month, years = _past("month", days=FIRST_DAYS), _past("ten-years", years=YEARS)
    short, long = _measured_in_turn("pages", month, years)
    found = [_page(name, short["pages"], long["pages"]) for name in long["pages"]]
    found.append(
        (
            "queries of any of these pages, ten years against one month",
            max(long["pages"][name]["queries"] / short["pages"][name]["queries"] for name in long["pages"]),
            1,
        )
    )
    small, large = _measured("charge", month), _measured("charge", years)
    found.append(("a charge with its trace, ten years against one month", large["seconds"] / small["seconds"], 1.2))
    grouped, balances, audit = (_measured(what, years) for what in ("group_by", "balances", "audit"))
    found.append(("balances of all funds against one group-by", balances["seconds"] / grouped["seconds"], 0.01))
    found.append(("the audit of the books against one group-by", audit["seconds"] / grouped["seconds"], 12))
    report, frame = _measured("cost_report", years), _measured("care_group_by", years)
    found.append(("the cost report of ten years against one group-by", report["seconds"] / frame["seconds"], 3))
    measured = {
        "the ledger’s pages": long,
        "a charge": large,
        "balances": balances,
        "the audit": audit,
        "the cost report": report,
    }
    found += [(f"memory of {what}, against one GiB", one["memory"] / 2**30, 1) for what, one in measured.items()]
    return found


def _page(name: str, short: dict, long: dict) -> Row:
    return f"page {name}, ten years against one month", long[name]["seconds"] / short[name]["seconds"], 1.3


def _past(name: str, *, years: int = 0, days: int = 0) -> Path:
    """Return the database of a past, built on the first call and brought up to date on every other."""
    path = ROOT / "var" / "bench" / f"{name}-{SEED}.sqlite3"
    path.parent.mkdir(parents=True, exist_ok=True)
    environment = _environment(path)
    if path.exists():
        _run(environment, "manage.py", "migrate", "--verbosity", "0", "--skip-checks")
        return path
    coming = path.with_suffix(".coming")
    coming.unlink(missing_ok=True)
    environment = _environment(coming)
    _run(environment, "manage.py", "migrate", "--verbosity", "0", "--skip-checks")
    length = ("--years", str(years)) if years else ("--days", str(days))
    print(f"building a past once, for this and every later run: {' '.join(length)} (ten years: about 12 minutes)")
    begun = time.monotonic()
    words = ("build_history", *length, "--seed", str(SEED), "--as-of", AS_OF.isoformat())
    print(_run(environment, "manage.py", *words).strip(), f"({time.monotonic() - begun:.0f} s)", flush=True)
    coming.rename(path)
    return path


def _measured(what: str, path: Path) -> dict[str, Any]:
    return json.loads(_run(_environment(path), "-m", "tests.benchmarks.bench_history", what))


def _measured_in_turn(what: str, *pasts: Path) -> list[dict[str, Any]]:
    """Measure the pages of several pasts in turn, and keep each page's quickest: a busy moment strikes them alike."""
    kept = [_measured(what, past) for past in pasts]
    for _ in range(TURNS - 1):
        for one, past in zip(kept, pasts, strict=True):
            again = _measured(what, past)
            one["memory"] = max(one["memory"], again["memory"])
            for name, page in again["pages"].items():
                one["pages"][name]["seconds"] = min(one["pages"][name]["seconds"], page["seconds"])
    return kept


def _environment(path: Path) -> dict[str, str]:
    return {
        **os.environ,
        "DATABASE_URL": f"sqlite:///{path}",
        "DJANGO_SETTINGS_MODULE": "config.settings",
        "AS_OF": AS_OF.isoformat(),
        "ALLOWED_HOSTS": "testserver",
    }


def _run(environment: dict[str, str], *words: str) -> str:
    done = subprocess.run([sys.executable, *words], cwd=ROOT, env=environment, stdout=subprocess.PIPE, text=True)
    if done.returncode:
        raise SystemExit(f"{' '.join(words)} failed")
    return done.stdout


# ------------------------------------------------------------ in the process that measures


def pages() -> dict[str, Any]:
    """Ask for the ward sheet and every page of the ledger that answers, with what stands in the middle of its list."""
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    client = Client()
    client.force_login(_reader(), "django.contrib.auth.backends.ModelBackend")
    found = {}
    for name, address in _addresses().items():
        answer = client.get(address, PERIOD)
        if answer.status_code != 200:
            continue
        with CaptureQueriesContext(connection) as asked:
            client.get(address, PERIOD)
        queries = len(asked)
        found[name] = {"seconds": _quickest(lambda to=address: client.get(to, PERIOD)), "queries": queries}
    return {"pages": found}


def _addresses() -> dict[str, str]:
    from django.urls import get_resolver, reverse

    room = next(found for found in get_resolver().url_patterns if getattr(found, "namespace", "") == "ledger")
    known = _samples()
    addresses = {}
    for pattern in room.url_patterns:
        wanted = pattern.pattern.converters
        if set(wanted) <= set(known):
            addresses[pattern.name] = reverse(f"ledger:{pattern.name}", kwargs={key: known[key] for key in wanted})
    addresses["ward_sheet"] = reverse("clinic:ward_sheet", args=[AS_OF])
    return addresses


def _samples() -> dict[str, object]:
    """Return what stands for each part of an address; a page whose part is not here is left out."""
    from ledger.models import Agreement, Charge, Donor, Entry, Fund, Gift

    charge = Charge.objects.filter(reverses=None).order_by("-id")[200]
    closing = Entry.objects.filter(kind="closing").order_by("-id").first()
    return {
        "fund_id": Fund.objects.get(kind="general").pk,
        "gift_id": Gift.objects.filter(inflows__fund__kind="general", inflows__left_minor=0).order_by("-id")[50].pk,
        "donor_id": Donor.objects.order_by("-id")[5].pk,
        "party_key": Agreement.objects.order_by("id").first().party_key,
        "subject_key": charge.subject_key,
        "charge_id": charge.pk,
        "code": "general_ceiling",
        "number": charge.entry_id,
        **({"closing": closing.pk} if closing else {}),
    }


def _reader():
    """Somebody who may open every page."""
    from clinic.models import RoleHeld, User

    amos = User.objects.get(sign_in="amos")
    for role in ("bookkeeper", "vet"):
        RoleHeld.objects.get_or_create(user=amos, role=role)
    return amos


class _Undone(Exception):
    """Takes back what was posted only to be measured."""


def charge() -> dict[str, Any]:
    """Post one line of care for an animal in care: shared, traced, chained; each time taken back again."""
    from clinic.models import Animal
    from ledger.queries.holder import holder

    holder()
    animal = Animal.objects.filter(stays__discharged_on=None, partner__isnull=False).order_by("id").first()
    return {"seconds": min(_posted(animal) for _ in range(3 * ROUNDS))}


def _posted(animal) -> float:
    from uuid import uuid4

    from django.db import transaction

    from ledger.actions import charges
    from tests.ledger import make

    slip = make.slip(
        key=uuid4(),
        subject_key=animal.key,
        party_key=animal.partner.key,
        care_on=AS_OF,
        traits=frozenset({"boarding", f"species:{animal.species}"}),
    )
    begun = time.process_time()
    with suppress(_Undone), transaction.atomic():
        charges.post_day(slips=[slip], by=1, today=AS_OF, at=make.at(AS_OF))
        raise _Undone
    return time.process_time() - begun


def balances() -> dict[str, Any]:
    from ledger.queries.balances import balances as ask

    return {"seconds": _quickest(ask)}


def group_by() -> dict[str, Any]:
    """Read every posting and sum what it moves by fund, in pandas: what a program that keeps no figure would do."""
    import pandas as pd
    from django.db import connection

    from ledger.models.accounts import KIND_OF
    from ledger.queries.balances import balances as kept

    moves = {code: int(kind in ("income", "expense")) for code, kind in KIND_OF.items()}
    connection.ensure_connection()

    def grouped():
        frame = pd.read_sql(
            "SELECT fund_id, debit_id, credit_id, amount_minor FROM ledger_posting", connection.connection
        )
        frame["moved"] = frame.amount_minor * (frame.credit_id.map(moves) - frame.debit_id.map(moves))
        return frame.groupby("fund_id").moved.sum()

    sums = grouped().to_dict()
    if {fund: minor for fund, minor in kept().items() if minor} != {
        fund: int(sum_) for fund, sum_ in sums.items() if sum_
    }:
        raise AssertionError("the kept balances are not what the postings sum to")
    return {"seconds": _quickest(grouped, rounds=3)}


WHOLE_PAST = {"from_on": date(2000, 1, 1), "to_on": AS_OF}


def cost_report() -> dict[str, Any]:
    """Put the cost report of the whole past together as its page shows it."""
    from clinic.queries.cost_report import cost_report as ask

    return {"seconds": _quickest(lambda: ask(**WHOLE_PAST), rounds=3)}


def care_group_by() -> dict[str, Any]:
    """Read every charge and sum its figures by animal, partner, month and kind, in pandas: what the report rests on."""
    import pandas as pd
    from django.db import connection

    from clinic.queries.cost_report import cost_report as ask

    figures = ["cost_minor", "usual_minor", "asked_minor", "goods_minor"]
    connection.ensure_connection()

    def grouped():
        frame = pd.read_sql(
            f"SELECT subject_key, party_key, kind_id, care_on, {', '.join(figures)} FROM ledger_charge",  # noqa: S608
            connection.connection,
        )
        frame["month"] = pd.to_datetime(frame.care_on).dt.to_period("M")
        return frame.groupby(["subject_key", "party_key", "month", "kind_id"])[figures].sum()

    sums, report = grouped().sum(), ask(**WHOLE_PAST)
    if [int(sums[name]) for name in figures[:3]] != [getattr(report.all, name) for name in figures[:3]]:
        raise AssertionError("the report does not sum to what the charges do")
    return {"seconds": _quickest(grouped, rounds=3)}


def audit() -> dict[str, Any]:
    from ledger.audit import audit as ask

    begun = time.process_time()
    found = ask()
    if found.findings:
        raise AssertionError(found.findings[0])
    return {"seconds": time.process_time() - begun}


def _quickest(ask: Callable[[], object], rounds: int = ROUNDS) -> float:
    """Return the quickest of several rounds: what the work takes where nothing else happens on the machine."""
    return min(_timed(ask) for _ in range(rounds))


def _timed(ask: Callable[[], object]) -> float:
    begun = time.process_time()
    ask()
    return time.process_time() - begun


MEASURES: dict[str, Callable[[], dict[str, Any]]] = {
    "pages": pages,
    "charge": charge,
    "balances": balances,
    "group_by": group_by,
    "cost_report": cost_report,
    "care_group_by": care_group_by,
    "audit": audit,
}


def main(what: str) -> None:
    import django

    django.setup()
    found = MEASURES[what]()
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    print(json.dumps({**found, "memory": memory}))


if __name__ == "__main__":
    main(sys.argv[1])
