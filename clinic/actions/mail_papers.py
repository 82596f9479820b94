"""Sends the papers of a run by e-mail, each once; what was cut off while being sent waits for a person.

A letter is written down as being sent before the mail server hears of it. Refused before it was handed over, it was
surely not sent, and may be sent again; after anything else nobody can know, so it is "perhaps sent".

Refusal
└── MailRefused
    └── NotToDecide   nothing is to be said of a letter that was never handed to a mail server
"""

from __future__ import annotations

import smtplib
from collections.abc import Callable
from datetime import datetime, timedelta

from django.core.mail import EmailMessage
from django.db import transaction

from clinic.models import House, PaperRun, RunItem
from clinic.queries import issued_papers, recipients
from clinic.queries.standing_papers import last_papers, stands
from config.refusal import Refusal

LEASE = timedelta(minutes=2)
SURELY_NOT_SENT = (
    smtplib.SMTPConnectError, smtplib.SMTPHeloError, smtplib.SMTPAuthenticationError, smtplib.SMTPSenderRefused,
    smtplib.SMTPRecipientsRefused, smtplib.SMTPNotSupportedError, ConnectionRefusedError,
)  # fmt: skip
SAID = {
    "arrived": RunItem.Mail.SENT,
    "again": RunItem.Mail.NONE,
    "bounced": RunItem.Mail.BOUNCED,
    "posted": RunItem.Mail.POSTED,
}
LOOKED_AT_ONCE = 50
KNOWN = (RunItem.Mail.PERHAPS, RunItem.Mail.SENT, RunItem.Mail.REFUSED, RunItem.Mail.BOUNCED, RunItem.Mail.POSTED)


class MailRefused(Refusal):
    """Nothing was sent and nothing changed."""


class NotToDecide(MailRefused):
    def __init__(self) -> None:
        super().__init__("Nothing is to be decided about this letter now. Look at the page again.")


def send(*, run: PaperRun, now: Callable[[], datetime], most: int = 10) -> int:
    """Send the next letters of a run, at most so many; return how many were handed over."""
    house, sent = House.objects.get(), 0
    perhaps(run=run, at=now())
    tried: set[int] = set()
    for _ in range(most):
        item = _claimed(run, now(), tried)
        if item is None:
            break
        sent += _sent(item, house, now())
    return sent


@transaction.atomic
def perhaps(*, run: PaperRun, at: datetime) -> int:
    """Mark letters whose sending was cut off: nobody knows whether they went, and none goes again on its own."""
    cut = run.items.filter(mail=RunItem.Mail.SENDING, mail_at__lte=at - LEASE)
    return cut.update(mail=RunItem.Mail.PERHAPS, mail_says="It was cut off while being sent. Ask whether it arrived.")


@transaction.atomic
def decide(*, item: RunItem, said: str, at: datetime) -> None:
    """Write down what a person says of a letter: it arrived, came back, went by post, or is to be sent again.

    Each can be said anew: a letter said to have come back by mistake has arrived after all.

    :raises NotToDecide: when nothing is to be said of it.
    """
    if said not in SAID or not RunItem.objects.filter(pk=item.pk, mail__in=KNOWN).update(
        mail=SAID[said], mail_says="", mail_at=at
    ):
        raise NotToDecide


def _claimed(run: PaperRun, at: datetime, tried: set[int]) -> RunItem | None:
    """Take the next letter that nobody sends; one without an address says so and is passed over."""
    with transaction.atomic(durable=True):
        unsent = recipients.made(run=run).filter(mail=RunItem.Mail.NONE)
        while some := list(unsent.exclude(pk__in=tried)[:LOOKED_AT_ONCE]):
            last, how = last_papers(ids=[item.paper_id for item in some]), recipients.recipients(items=some)
            for item in some:
                tried.add(item.pk)
                free = RunItem.objects.filter(pk=item.pk, mail=RunItem.Mail.NONE)
                if why := how[item.pk].why_not_mailed:
                    if why != item.mail_says:
                        free.update(mail_says=why)
                elif stands(last[item.paper_id]) and free.update(mail=RunItem.Mail.SENDING, mail_at=at):
                    return item
    return None


def _sent(item: RunItem, house: House, at: datetime) -> bool:
    try:
        state, says = _handed_over(item, house)
    except SURELY_NOT_SENT as refused:
        state, says = RunItem.Mail.REFUSED, f"The mail server refused it: {type(refused).__name__}. Nothing was sent."
    except Exception as obstacle:
        says = f"It was cut off while being sent ({type(obstacle).__name__}). Ask whether it arrived."
        state = RunItem.Mail.PERHAPS
    with transaction.atomic(durable=True):
        RunItem.objects.filter(pk=item.pk, mail=RunItem.Mail.SENDING).update(mail=state, mail_says=says, mail_at=at)
    return state == RunItem.Mail.SENT


def _handed_over(item: RunItem, house: House) -> tuple[str, str]:
    """Hand over the paper that stands now: where it was corrected since, the correction."""
    paper = last_papers(ids=[item.paper_id], for_files=True)[item.paper_id]
    content = issued_papers.content(paper=paper)
    if content is None or not stands(paper):
        return RunItem.Mail.REFUSED, "Its file is gone or no longer handed out. Nothing was sent."
    EmailMessage(
        subject=f"{house.name}: your statement No. {paper.number}",
        body=f"The statement is attached as a PDF.\n\n{house.name}\n{house.address}\n",
        to=[recipients.recipient(item).email],
        attachments=[(f"statement-{paper.number}.pdf", content, "application/pdf")],
    ).send()
    return RunItem.Mail.SENT, ""
