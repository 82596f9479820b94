"""Runs of papers: everybody once, bad items say so, canceled and retried, resumed by whoever comes next."""

import io
import json
import uuid
from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest
from django.core.management import call_command
from django.db import connection
from django.db.models import Sum
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from clinic.actions import issue_statement as printed
from clinic.actions import paper_runs, run_papers
from clinic.models import House, IssuedPaper, PaperNumber, PaperRun, RunItem
from clinic.queries.stationery import stationery_of
from config.render import PaperNotPrinted
from ledger.actions import donors
from ledger.models import Donor, Fund, Use
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY

pytestmark = pytest.mark.django_db

YEAR = {"from_on": date(2026, 1, 1), "to_on": date(2026, 12, 31)}
DAYS = ("--from", "2026-01-01", "--to", "2026-12-31")


@pytest.fixture(autouse=True)
def media_of_its_own(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"


@pytest.fixture
def clinic():
    """Four donors of general money that paid 24.00 of boarding; one of them has no address, a fifth never gave."""
    clinic = make.open_clinic()
    general = Fund.objects.get(kind="general")
    for name, amount in (("Ann", 1000), ("Ben", 900), ("Cleo", 800), ("Dora", 700), ("Never", 0)):
        donor = donors.add(key=uuid.uuid4(), name=name, on=date(2026, 10, 1), by=clinic.bookkeeper.pk)
        if amount:
            clinic.gift(general, amount, donor_id=donor.pk)
    clinic.admit(on=DAY, partner=False)
    clinic.sign()
    return clinic


def donor_id(name: str) -> int:
    return Donor.objects.get(name=name).pk


def started(clinic, **more) -> PaperRun:
    said = {"key": uuid.uuid4(), "kind": "donor", **YEAR, "form": ""} | more
    return paper_runs.start(**said, by=clinic.manager, today=TODAY, at=AT)


def work(run, **more) -> int:
    return run_papers.work(run=run, worker="a test", now=lambda: AT, **more)


def states(run) -> list[str]:
    return list(run.items.order_by("place").values_list("state", flat=True))


def test_everybody_with_a_gift_gets_one_paper(clinic):
    run = started(clinic)

    assert work(run) == 4
    assert states(run) == ["made"] * 4
    assert [str(number) for number in PaperNumber.objects.order_by("serial")] == [f"2026-000{n}" for n in range(1, 5)]
    assert work(run) == 0


def test_a_paper_of_a_run_asks_little(clinic, monkeypatch):
    """What a run's papers have in common is read before the first; PostgreSQL has two locks more."""
    monkeypatch.setattr(printed, "drawn", lambda statement: statement.donor.encode())
    run, asked = started(clinic, form="full"), []
    for most in (1, 2):
        with CaptureQueriesContext(connection) as captured:
            work(run, most=most)
        asked.append(sum(query["sql"].startswith(("SELECT", "INSERT", "UPDATE")) for query in captured))

    assert asked[1] - asked[0] <= (24 if connection.features.has_select_for_update else 22)


def test_a_run_asked_for_again_goes_on_and_late_comers_join(clinic):
    key = paper_runs.run_key(kind="donor", **YEAR, form="")
    run = started(clinic, key=key)
    work(run)
    clinic.gift(Fund.objects.get(kind="general"), 500, donor_id=donor_id("Never"))

    again = started(clinic, key=key)

    assert (again, states(again)) == (run, ["made"] * 4 + ["waiting"])


def test_nobody_in_these_days_is_refused(clinic):
    with pytest.raises(paper_runs.NobodyInIt, match="No donor gave or had a gift at work in these days"):
        started(clinic, from_on=date(2020, 1, 1), to_on=date(2020, 12, 31))


def test_a_bad_item_says_so_and_the_run_goes_on_and_only_it_is_tried_again(clinic, monkeypatch):
    run, draw = started(clinic), printed.drawn

    def broken(statement):
        if statement.donor == "Ben":
            raise PaperNotPrinted("A paper asked for a file that is not the clinic's own, so it was not printed.")
        if statement.donor == "Cleo":
            raise RuntimeError("nobody foresaw this")
        return draw(statement)

    with monkeypatch.context() as patched:
        patched.setattr(printed, "drawn", broken)
        work(run)
    said = dict(run.items.values_list("donor_id", "says"))
    before = states(run)
    waiting = paper_runs.retry(run=run)

    assert before == ["made", "not_made", "not_made", "made"]
    assert said[donor_id("Ben")].startswith("A paper asked for a file")
    assert said[donor_id("Cleo")] == run_papers.BROKEN
    assert (waiting, work(run), states(run)) == (2, 2, ["made"] * 4)
    assert PaperNumber.objects.count() == 4


def test_a_canceled_run_stops_and_keeps_what_is_made_and_goes_on_when_asked(clinic):
    run = started(clinic)
    work(run, most=1)

    paper_runs.cancel(run=run, at=AT)
    stopped = work(run)
    paper_runs.retry(run=run)

    assert stopped == 0
    assert (work(run), states(run)) == (3, ["made"] * 4)


def test_what_a_worker_began_is_taken_over_only_once_its_beat_is_old(clinic):
    run = started(clinic)
    held = paper_runs.claim(run=run, worker="gone", at=AT)

    now = work(run)
    later = run_papers.work(run=run, worker="next", now=lambda: AT + paper_runs.LEASE)

    assert (held.place, now, later) == (1, 3, 1)
    assert run.items.get(place=1).tries == 2


def test_two_workers_never_hold_the_same_item(clinic):
    run = started(clinic)

    held = [paper_runs.claim(run=run, worker=f"worker {turn % 2}", at=AT) for turn in range(5)]

    assert sorted(item.place for item in held if item) == [1, 2, 3, 4]
    assert held[4] is None


def test_a_paper_issued_before_the_crash_is_found_and_not_made_twice(clinic, monkeypatch):
    run = started(clinic)
    with monkeypatch.context() as crash:
        crash.setattr(paper_runs, "finish", lambda **said: (_ for _ in ()).throw(KeyboardInterrupt))
        with pytest.raises(KeyboardInterrupt):
            work(run)

    work(run, lease=timedelta(0))

    assert (IssuedPaper.objects.count(), PaperNumber.objects.count(), states(run)) == (4, 4, ["made"] * 4)


def test_what_breaks_as_a_paper_is_kept_keeps_neither_it_nor_the_claim_of_the_next(clinic, monkeypatch):
    run, claim, calls = started(clinic), paper_runs.claim, []

    def second_breaks(**said):
        calls.append(claim(**said))
        if len(calls) == 2:
            raise RuntimeError("nobody foresaw this")
        return calls[-1]

    with monkeypatch.context() as patched:
        patched.setattr(paper_runs, "claim", second_breaks)
        assert work(run) == 4
    assert (states(run), IssuedPaper.objects.count()) == (["not_made", "made", "made", "made"], 3)
    assert dict(run.items.values_list("place", "tries")) == {1: 1, 2: 1, 3: 1, 4: 1}

    paper_runs.retry(run=run)
    assert (work(run), states(run), PaperNumber.objects.count()) == (1, ["made"] * 4, 4)


def test_a_paper_that_stands_already_is_put_into_the_run(clinic):
    paper = printed.issue_statement(
        key=uuid.uuid4(), donor_id=donor_id("Ann"), donor="Ann", address="", **YEAR,
        stationery=stationery_of(House.objects.get()),        by=clinic.bookkeeper, today=TODAY, at=AT,
    )  # fmt: skip
    run = started(clinic)

    work(run)

    first = run.items.get(donor_id=donor_id("Ann"))
    assert (first.paper, first.says) == (paper, "Paper 2026-0001 stood already.")


def printed_out(*words: object) -> dict:
    out = io.StringIO()
    call_command("print_statements", *words, "--json", stdout=out)
    return json.loads(out.getvalue())


def test_the_command_writes_the_files_whose_sums_are_those_of_the_books(clinic, tmp_path):
    said = printed_out("donor", *DAYS, "--out", tmp_path / "out")

    paid = sum(Decimal(paper["sums"]["paid for care"]) for paper in said["papers"])
    in_books = Use.objects.filter(posting__charge__isnull=False).aggregate(total=Sum("amount_minor"))["total"]
    assert [paper["number"] for paper in said["papers"]] == [f"2026-000{n}" for n in range(1, 5)]
    assert (paid, in_books) == (Decimal("24.00"), 2400)
    assert said["not_made"] == []
    for paper in said["papers"]:
        text = " ".join(page.extract_text() for page in PdfReader(paper["file"]).pages)
        assert all(amount in text for amount in paper["sums"].values() if amount != "0.00")
        assert f"No. {paper['number']}" in text
    assert len(PdfReader(tmp_path / "out" / "all.pdf").pages) >= 4


def test_the_command_run_twice_writes_the_same_bytes_and_issues_nothing_new(clinic, tmp_path):
    first = printed_out("donor", *DAYS, "--out", tmp_path / "one")
    second = printed_out("donor", *DAYS, "--out", tmp_path / "two")

    assert [(one["number"], one["sums"]) for one in first["papers"]] == [
        (two["number"], two["sums"]) for two in second["papers"]
    ]
    for one, two in zip(first["papers"], second["papers"], strict=True):
        with open(one["file"], "rb") as before, open(two["file"], "rb") as after:
            assert before.read() == after.read()
    assert IssuedPaper.objects.count() == 4


def test_the_command_prints_partners_too(clinic, tmp_path):
    clinic.admit("Rook", on=DAY - timedelta(days=1))
    clinic.sign(on=DAY - timedelta(days=1))

    said = printed_out("partner", "--from", "2026-10-01", "--to", "2026-10-31", "--out", tmp_path)

    assert [paper["sums"]["asked"] for paper in said["papers"]] == ["24.00"]


def test_the_command_says_what_could_not_be_made(clinic, settings, tmp_path, capsys):
    printed_out("donor", *DAYS, "--out", tmp_path)
    first = IssuedPaper.objects.get(donor_id=donor_id("Ann"))
    (settings.MEDIA_ROOT / "kept" / first.sha256[:2] / f"{first.sha256}.pdf").unlink()

    with pytest.raises(SystemExit) as ended:
        call_command("print_statements", "donor", *DAYS, "--out", tmp_path)

    assert ended.value.code == 1
    assert f"donor {donor_id('Ann')}: The file of paper 2026-0001 is gone" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--from", "2026-12-31", "--to", "2026-01-01"), "lies before --from"),
        (("--from", "2020-01-01", "--to", "2020-12-31"), "No donor gave"),
    ],
)
def test_bad_days_are_one_sentence_and_status_2(clinic, tmp_path, capsys, words, sentence):
    with pytest.raises(SystemExit) as ended:
        call_command("print_statements", "donor", *words, "--out", tmp_path / "out")

    assert ended.value.code == 2
    assert sentence in capsys.readouterr().err
    assert not RunItem.objects.exists()


def test_a_worker_stops_at_its_moment(clinic):
    run, moments = started(clinic), iter([AT, AT, AT])

    def now() -> datetime:
        return next(moments, AT + timedelta(seconds=9))

    assert run_papers.work(run=run, worker="a page", now=now, until=AT + timedelta(seconds=5)) == 1
