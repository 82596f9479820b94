"""Letters of a run: each once; a refusal is said, what was cut off waits for a person, none goes twice on its own."""

import smtplib
import uuid
from datetime import date, timedelta

import pytest
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend
from django.urls import reverse

from clinic.actions import mail_papers, paper_runs, run_papers
from clinic.models import RunItem
from clinic.queries import issued_papers
from ledger.actions import donors
from ledger.models import Fund
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
    ("said", "state", "again"), [("arrived", "sent", 0), ("again", "", 1), ("bounced", "bounced", 0)]
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


def test_the_pages_start_a_run_work_on_it_and_print_it(clinic, run, client):
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
