"""Papers of donors who were merged, and of those whose wishes differ: each gift told and thanked for once."""

import uuid
from datetime import date

import pytest
from django.core import mail
from django.urls import reverse

from clinic.actions import issue_statement as printed
from clinic.actions import issued_papers, mail_papers, paper_runs, run_papers
from clinic.actions.issue_receipt import issue_receipt
from clinic.actions.issue_statement import issue_statement
from clinic.formulas.in_return import InReturn
from clinic.models import House, IssuedPaper
from clinic.queries import paper_runs as run_queries
from clinic.queries import papers_to_cancel, run_files
from clinic.queries.stationery import stationery_of
from ledger.actions import donor_merges, donors
from ledger.models import Donor, DonorMerge, Fund
from tests.clinic import make
from tests.clinic.make import AT, TODAY

pytestmark = pytest.mark.django_db

YEAR = {"from_on": date(2026, 1, 1), "to_on": date(2026, 12, 31)}
US = InReturn(words="", benefit_minor=0, items_cost_minor=None, receipted_by="us", is_declared=False)


@pytest.fixture(autouse=True)
def media_of_its_own(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"


@pytest.fixture
def clinic():
    """Ann gave 5.00 and Anna 2.00."""
    clinic = make.open_clinic()
    for name, minor in (("Ann", 5_00), ("Anna", 2_00)):
        one = donor(clinic, name)
        clinic.gift(Fund.objects.get(kind="general"), minor, donor_id=one.pk)
    return clinic


def donor(clinic, name: str, **facts) -> Donor:
    return donors.add(key=uuid.uuid4(), name=name, on=date(2026, 10, 1), by=clinic.bookkeeper.pk, **facts)


def named(name: str) -> Donor:
    return Donor.objects.get(name=name)


def merge(clinic) -> DonorMerge:
    return donor_merges.merge(
        key=uuid.uuid4(), donor_id=named("Anna").pk, into_id=named("Ann").pk, why="One letter box.",
        by=clinic.bookkeeper.pk, on=TODAY, at=AT,
    )  # fmt: skip


def undo(clinic, made: DonorMerge) -> None:
    donor_merges.undo(merge_id=made.pk, why="Mother and daughter.", by=clinic.bookkeeper.pk, on=TODAY)


def common(clinic) -> dict:
    return {"by": clinic.bookkeeper, "today": TODAY, "at": AT}


def statement(clinic, name: str, **more) -> IssuedPaper:
    said = {"key": uuid.uuid4(), "donor_id": named(name).pk, "donor": name, "address": "", **YEAR} | more
    return issue_statement(**said, stationery=stationery_of(House.objects.get()), **common(clinic))


def receipt(clinic, name: str, **more) -> IssuedPaper:
    said = {"key": uuid.uuid4(), "donor_id": named(name).pk, "year": 2026, "returned": US} | more
    return issue_receipt(**said, house=House.objects.get(), **common(clinic))


def given(paper: IssuedPaper) -> int:
    return paper.facts["sums"]["given"]


class TestStatements:
    def test_one_tells_of_both_and_undone_each_tells_of_their_own(self, clinic):
        made = merge(clinic)
        both = statement(clinic, "Ann")
        undo(clinic, made)
        own = statement(clinic, "Anna")

        assert (given(both), given(own)) == (7_00, 2_00)

    def test_days_that_one_of_them_was_told_of_are_corrected_and_not_told_anew(self, clinic):
        first = statement(clinic, "Anna")
        merge(clinic)

        with pytest.raises(issued_papers.IssuedBefore, match="Paper 2026-0001 tells of these days already"):
            statement(clinic, "Ann")
        second = statement(clinic, "Ann", replaces=first, why="The two are one.")

        assert (given(second), second.replaces) == (7_00, first)

    def test_of_two_that_stand_the_corrected_one_takes_the_place_of_both(self, clinic):
        first, other = statement(clinic, "Ann"), statement(clinic, "Anna")
        made = merge(clinic)
        both = statement(clinic, "Ann", replaces=first, why="The two are one.")
        other.refresh_from_db()
        undo(clinic, made)
        again = statement(clinic, "Anna", replaces=other, why="They are two.")

        assert given(both) == 7_00
        assert other.withdrawal.why == "No. 2026-0003 tells of these days for both donors, since they are one."
        assert (given(again), IssuedPaper.objects.filter(withdrawal=None, replaced_by=None).count()) == (2_00, 2)

    def test_a_merge_while_it_is_drawn_is_refused_and_told_of_at_the_next_try(self, clinic, monkeypatch):
        """It would tell of one and take the place of both."""
        key, draw = uuid.uuid4(), printed.drawn

        def drawn(facts) -> bytes:
            merge(clinic)
            return draw(facts)

        with monkeypatch.context() as patched, pytest.raises(issued_papers.ReadByOthers, match="Nothing was issued"):
            patched.setattr(printed, "drawn", drawn)
            statement(clinic, "Ann", key=key)

        assert not IssuedPaper.objects.exists()
        assert given(statement(clinic, "Ann", key=key)) == 7_00

    def test_the_pages_lead_to_it_under_either_name(self, clinic, client):
        statement(clinic, "Anna")
        merge(clinic)
        client.force_login(clinic.bookkeeper, "django.contrib.auth.backends.ModelBackend")
        days = {name: f"{on:%Y-%m-%d}" for name, on in YEAR.items()}

        pages = [
            client.get(reverse("clinic:impact_statement", args=[named(name).pk]), days).content.decode()
            for name in ("Ann", "Anna")
        ]
        papers = client.get(reverse("clinic:papers"), days).content.decode()

        assert all("No. 2026-0001</b> tells of these days" in page for page in pages)
        assert "Anna" not in papers and ">Ann<" in papers


class TestReceipts:
    def test_no_gift_is_acknowledged_by_two_through_merging_and_undoing(self, clinic):
        """I4: no gift has two live receipts."""
        first = receipt(clinic, "Anna")
        made = merge(clinic)
        rest = receipt(clinic, "Ann")
        undo(clinic, made)

        assert [given(first), given(rest)] == [2_00, 5_00]
        with pytest.raises(issued_papers.ReceiptedBefore):
            receipt(clinic, "Anna", donor_id=None, gift_id=named("Anna").gifts.get().pk)

    def test_one_for_both_is_asked_to_be_canceled_once_they_are_two_again(self, clinic, client):
        """I4: a receipt names who gave."""
        made = merge(clinic)
        both = receipt(clinic, "Ann")
        before = papers_to_cancel.papers_to_cancel()
        undo(clinic, made)
        client.force_login(clinic.bookkeeper, "django.contrib.auth.backends.ModelBackend")

        page = client.get(reverse("clinic:papers")).content.decode()
        own = reverse("clinic:year_receipt", args=[named("Anna").pk, 2026])
        blocked = client.get(own).content.decode()
        issued_papers.withdraw(paper=both, why="They are two.", is_served=True, by=clinic.bookkeeper, at=AT)
        again = receipt(clinic, "Ann", replaces=both, why="They are two.")
        annas = receipt(clinic, "Anna")

        assert (given(both), before) == (7_00, ())
        assert "was another donor’s after all, since a merge was undone" in page
        assert "There is no gift of 2026 left" in blocked
        assert (given(again), given(annas)) == (5_00, 2_00)
        assert papers_to_cancel.papers_to_cancel() == ()


class TestRuns:
    def run(self, clinic, **more):
        said = {"key": uuid.uuid4(), "kind": "donor", **YEAR, "form": ""} | more
        return paper_runs.start(**said, by=clinic.manager, today=TODAY, at=AT)

    def work(self, run) -> None:
        run_papers.work(run=run, worker="a test", now=lambda: AT)

    def test_two_who_are_one_get_one_paper(self, clinic):
        merge(clinic)
        run = self.run(clinic)
        self.work(run)

        assert [given(item.paper) for item in run.items.all()] == [7_00]

    def test_merged_while_the_run_is_under_way_they_still_get_one(self, clinic):
        run = self.run(clinic)
        merge(clinic)
        self.work(run)

        said = dict(run.items.values_list("donor_id", "says"))
        assert said[named("Anna").pk] == "They were merged with Ann since, whose paper tells of both. Nothing was made."
        assert [given(paper) for paper in IssuedPaper.objects.all()] == [7_00]

    def test_each_gets_what_they_want(self, clinic, settings):
        """Paper, e-mail or nothing: the printer's file, the letters and the items follow the wish of each donor."""
        settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
        for name, wants in (("Post", "paper"), ("Wire", "email"), ("None", "nothing"), ("Back", "email")):
            one = donor(clinic, name, wants=wants, email=f"{name.lower()}@mail.example")
            clinic.gift(Fund.objects.get(kind="general"), 1_00, donor_id=one.pk)
        run = self.run(clinic)
        self.work(run)
        mail_papers.send(run=run, now=lambda: AT)
        run.items.filter(donor_id=named("Back").pk).update(mail="bounced")

        page = run_queries.paper_run(run_id=run.pk)
        printed = {row.whose for row in page.items if row.id in run_queries.recipients.printed(run=run)}

        assert [row.whose for row in page.items] == ["Ann", "Anna", "Post", "Wire", "Back"]
        assert [letter.to for letter in mail.outbox] == [["wire@mail.example"], ["back@mail.example"]]
        assert (printed, page.to_print) == ({"Ann", "Anna", "Post", "Back"}, 4)
        assert run.items.get(donor_id=named("Post").pk).mail_says == "Wants paper; print it."
        assert run_files.merged(run=run).startswith(b"%PDF")
