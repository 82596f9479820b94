"""Letters of a run: each once; a refusal is said, what was cut off waits for a person, none goes twice on its own."""

import io
import smtplib
import uuid
from datetime import date, timedelta

import pytest
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend
from django.urls import reverse
from pypdf import PdfReader

from clinic.actions import issued_papers as paper_actions
from clinic.actions import mail_papers, paper_runs, run_papers
from clinic.actions.issue_statement import issue_statement
from clinic.models import House, RunItem
from clinic.queries import issued_papers, recipients, run_files
from clinic.queries.needs_of_papers import need_of_letters
from clinic.queries.paper_runs import paper_run
from clinic.queries.stationery import stationery_of
from clinic.views import paper_runs as views
from config.mail import FILES
from ledger.actions import donors
from ledger.models import Donor, Fund
from tests.clinic import make
from tests.clinic.make import AT, TODAY

pytestmark = pytest.mark.django_db

BACKEND = "tests.clinic.test_paper_mail.Broken"


class Broken(EmailBackend):
    """A mail server that does to each letter what `next_ones` says: an exception, or nothing."""

    next_ones: list[Exception | None] = []

    def send_messages(self, messages) -> int:
        obstacle = self.next_ones.pop(0) if self.next_ones else None
        if obstacle:
            raise obstacle
        return super().send_messages(messages)


@pytest.fixture(autouse=True)
def mail_and_media(settings, tmp_path):
    settings.MEDIA_ROOT, settings.EMAIL_BACKEND = tmp_path, BACKEND
    Broken.next_ones = []


@pytest.fixture
def clinic():
    return make.open_clinic()


@pytest.fixture
def run(clinic):
    """Three statements made; the third donor has no address."""
    for name, email in (("Ann", "ann@mail.example"), ("Ben", "ben@mail.example"), ("Cleo", "")):
        donor = donors.add(key=uuid.uuid4(), name=name, email=email, on=date(2026, 10, 1), by=clinic.bookkeeper.pk)
        clinic.gift(Fund.objects.get(kind="general"), 1000, donor_id=donor.pk)
    days = {"from_on": date(2026, 1, 1), "to_on": date(2026, 12, 31)}
    made = paper_runs.start(key=uuid.uuid4(), kind="donor", **days, form="", by=clinic.manager, today=TODAY, at=AT)
    run_papers.work(run=made, worker="a test", now=lambda: AT)
    return made


def send(run, at=AT) -> int:
    return mail_papers.send(run=run, now=lambda: at)


def states(run) -> list[str]:
    return list(run.items.order_by("place").values_list("mail", flat=True))


def test_each_letter_goes_once_with_its_paper_attached(run):
    assert (send(run), send(run)) == (2, 0)

    assert [letter.to for letter in mail.outbox] == [["ann@mail.example"], ["ben@mail.example"]]
    name, content, kind = mail.outbox[0].attachments[0]
    assert (name, kind) == ("statement-2026-0001.pdf", "application/pdf")
    assert content == issued_papers.content(paper=issued_papers.paper_of(number="2026-0001"))
    assert states(run) == ["sent", "sent", ""]
    assert run.items.get(place=3).mail_says == "No e-mail address; print it."


def test_a_server_that_refuses_is_said_and_the_run_goes_on(run):
    Broken.next_ones = [smtplib.SMTPRecipientsRefused({})]

    assert send(run) == 1
    assert states(run) == ["refused", "sent", ""]
    assert "Nothing was sent" in run.items.get(place=1).mail_says


@pytest.mark.parametrize("obstacle", [smtplib.SMTPServerDisconnected("gone"), TimeoutError(), OSError("reset")])
def test_a_letter_cut_off_is_perhaps_sent_and_never_goes_again_on_its_own(run, obstacle):
    Broken.next_ones = [obstacle]

    send(run)
    later = send(run, AT + timedelta(days=1))

    assert (later, states(run)) == (0, ["perhaps", "sent", ""])
    assert [letter.to for letter in mail.outbox] == [["ben@mail.example"]]


def test_a_process_killed_while_sending_leaves_a_letter_perhaps_sent(run):
    Broken.next_ones = [KeyboardInterrupt()]
    with pytest.raises(KeyboardInterrupt):
        send(run)

    soon, held = send(run, AT + timedelta(seconds=30)), states(run)
    send(run, AT + mail_papers.LEASE)

    assert (soon, held) == (1, ["sending", "sent", ""])
    assert states(run) == ["perhaps", "sent", ""]
    assert [letter.to for letter in mail.outbox] == [["ben@mail.example"]]


@pytest.mark.parametrize(
    ("said", "state", "again"),
    [("arrived", "sent", 0), ("again", "", 1), ("bounced", "bounced", 0), ("posted", "posted", 0)],
)
def test_a_person_decides(run, clinic, client, said, state, again):
    Broken.next_ones = [TimeoutError()]
    send(run)
    first = run.items.get(place=1)
    client.force_login(clinic.bookkeeper, "django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("clinic:paper_run", args=[run.pk])).content.decode()

    client.post(reverse("clinic:mail_decide", args=[first.pk]), {"said": said})

    first.refresh_from_db()
    assert "Perhaps sent" in page
    assert first.mail == state
    assert send(run) == again


def test_nothing_is_decided_of_a_letter_that_was_not_sent(run):
    with pytest.raises(mail_papers.NotToDecide):
        mail_papers.decide(item=run.items.get(place=1), said="arrived", at=AT)

    assert set(RunItem.objects.values_list("mail", flat=True)) == {""}


def test_what_stands_now_goes_out_and_the_list_says_what_became_of_the_first(clinic, run, client):
    """Ben's is corrected and Cleo's no longer counts: neither first paper is mailed or printed."""
    ben, cleo = run.items.get(place=2), run.items.get(place=3)
    correct(clinic, ben.paper)
    paper_actions.withdraw(paper=cleo.paper, why="Of somebody else.", is_served=True, by=clinic.manager, at=AT)
    client.force_login(clinic.bookkeeper, "django.contrib.auth.backends.ModelBackend")

    send(run)
    page = client.get(reverse("clinic:paper_run", args=[run.pk])).content.decode()
    printed = " ".join(one.extract_text() for one in PdfReader(io.BytesIO(run_files.merged(run=run))).pages)

    assert [letter.attachments[0][0] for letter in mail.outbox] == [
        "statement-2026-0001.pdf",
        "statement-2026-0004.pdf",
    ]
    assert "2026-0004" in printed
    assert "2026-0003" not in printed
    correction = reverse("clinic:issued_paper", args=["2026-0004"])
    assert f'corrected by <a href="{correction}">No. 2026-0004</a>' in page
    assert "no longer counts" in page
    assert [one.says for one in run_files.not_made(run=run)] == ["Paper 2026-0003 no longer counts."]


def correct(clinic, paper):
    said = {"donor_id": paper.donor_id, "donor": "Ben", "address": "", "from_on": paper.from_on, "to_on": paper.to_on}
    said |= {"stationery": stationery_of(House.objects.get()), "by": clinic.manager, "today": TODAY, "at": AT}
    issue_statement(key=uuid.uuid4(), **said, replaces=paper, why="A slip.")


def test_the_page_says_beforehand_how_many_go_which_way(clinic, run, client, settings):
    """Ann and Ben have an address and have not said: they get both. Cleo has none."""
    client.force_login(clinic.bookkeeper, "django.contrib.auth.backends.ModelBackend")

    def page() -> str:
        return " ".join(client.get(reverse("clinic:paper_run", args=[run.pk])).content.decode().split())

    before = page()
    send(run)
    after = page()
    settings.EMAIL_BACKEND = FILES

    assert (
        "2 letters are still to go by e-mail. 3 papers are in the printer’s file; 2 of those go by e-mail too."
        in before
    )
    assert "Send 2 by e-mail" in before
    assert "Send" not in after.split("Made</h2>")[1]
    assert "letters reach nobody" not in after
    assert "letters reach nobody" in page()


def test_a_donor_whose_address_is_known_later_can_be_mailed_then(run):
    send(run)
    Donor.objects.filter(name="Cleo").update(email="cleo@mail.example")

    assert (send(run), states(run)) == (1, ["sent", "sent", "sent"])
    assert run.items.get(place=3).mail_says == ""


def test_a_letter_that_came_back_says_what_is_next_and_a_slip_is_undone(clinic, run, client):
    """The bookkeeper's first page asks until somebody says what became of it."""
    send(run)
    Donor.objects.filter(name="Ben").update(address="2 Mill Lane", wants="email")
    client.force_login(clinic.bookkeeper, "django.contrib.auth.backends.ModelBackend")
    for place in (1, 2):
        mail_papers.decide(item=run.items.get(place=place), said="bounced", at=AT)

    page = paper_run(run_id=run.pk)
    need = need_of_letters(on=TODAY)
    shown = client.get(reverse("clinic:home")).content.decode()
    mail_papers.decide(item=run.items.get(place=1), said="arrived", at=AT)
    mail_papers.decide(item=run.items.get(place=2), said="posted", at=AT)

    assert [row.mail_says.split("; ")[-1] for row in page.needs] == [
        "It is in the printer’s file now, but there is no postal address either: ask them for one.",
        "send that by post, or mend the address and send it again.",
    ]
    assert (need.count, need.address) == (2, f"/papers/runs/{run.pk}/#needs")
    assert "letters that did not arrive" in shown
    assert states(run) == ["sent", "posted", ""]
    assert need_of_letters(on=TODAY) is None
    assert run.items.get(place=2).pk in recipients.printed(run=run)


def test_the_pages_start_a_run_work_on_it_and_print_it(clinic, run, client, monkeypatch):
    monkeypatch.setattr(views, "A_WHILE", timedelta(minutes=10))  # however slow this machine is
    client.force_login(clinic.bookkeeper, "django.contrib.auth.backends.ModelBackend")
    clinic.gift(Fund.objects.get(kind="general"), 500, donor_id=run.items.first().donor_id)
    days = {"from_on": "2026-10-01", "to_on": "2026-10-31"}

    sent = client.post(reverse("clinic:paper_runs"), {"key": uuid.uuid4(), "kind": "donor", "form": "", **days})
    page = client.get(sent["Location"]).content.decode()
    number = int(sent["Location"].rstrip("/").split("/")[-1])
    client.post(reverse("clinic:run_step", args=[number]))
    after = client.get(sent["Location"]).content.decode()
    merged = client.get(reverse("clinic:run_file", args=[number]))
    mailed = client.post(reverse("clinic:run_mail", args=[number]))
    turned = client.post(
        reverse("clinic:paper_runs"),
        {"key": uuid.uuid4(), "kind": "donor", "from_on": "2026-10-31", "to_on": "2026-10-01"},
    )

    assert "0 of 3 made, 3 wait" in " ".join(page.split())
    assert "3 of 3 made." in " ".join(after.split())
    assert merged.content.startswith(b"%PDF")
    assert (mailed.status_code, len(mail.outbox), turned.status_code) == (303, 2, 422)
