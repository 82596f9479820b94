"""The items of a run as rows: whose paper, what became of it and of its letter, and what a person does next."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from clinic.models import IssuedPaper, RunItem
from clinic.queries.recipients import recipients
from clinic.queries.standing_papers import last_papers, stands
from ledger.queries import donor_choices
from ledger.queries.donor_contacts import Contact

Mail = RunItem.Mail
ASKS = (Mail.PERHAPS, Mail.REFUSED, Mail.BOUNCED)
CAME_BACK, AGAIN, POSTED = ("bounced", "It came back"), ("again", "Send it again"), ("posted", "Sent by post")
CHOICES: dict[str, tuple[tuple[str, str], ...]] = {
    Mail.SENT: (CAME_BACK,),
    Mail.PERHAPS: (("arrived", "It arrived"), CAME_BACK, AGAIN),
    Mail.REFUSED: (AGAIN, POSTED),
    Mail.BOUNCED: (AGAIN, POSTED, ("arrived", "It arrived after all")),
    Mail.POSTED: (("bounced", "Not by post after all"),),
}


@dataclass(frozen=True, kw_only=True)
class ItemRow:
    id: int
    whose: str
    donor_id: int | None
    partner_id: int | None
    number: str
    corrected_by: str
    counts: bool
    state: str
    says: str
    mail: str
    mail_words: str
    mail_says: str
    choices: tuple[tuple[str, str], ...]  # what a person may say of the letter: its code, its words

    @property
    def asks(self) -> bool:
        return self.mail in ASKS


def item_rows(*, items: Iterable[RunItem]) -> tuple[ItemRow, ...]:
    found = list(items)
    names = donor_choices.names(ids={item.donor_id for item in found if item.donor_id})
    last = last_papers(ids=[item.paper_id for item in found if item.paper_id])
    how = recipients(items=found)
    return tuple(_row(item, names.get(item.donor_id or 0, ""), last.get(item.paper_id), how[item.pk]) for item in found)


def _row(item: RunItem, donor: str, last: IssuedPaper | None, contact: Contact) -> ItemRow:
    number = str(item.paper.number) if item.paper else ""
    return ItemRow(
        id=item.pk,
        whose=item.partner.name if item.partner else donor,
        donor_id=item.donor_id,
        partner_id=item.partner_id,
        number=number,
        corrected_by=str(last.number) if last and last.pk != item.paper_id else "",
        counts=last is None or stands(last),
        state=item.get_state_display(),
        says=item.says,
        mail=item.mail,
        mail_words=item.get_mail_display(),
        mail_says=_mail_says(item, contact),
        choices=CHOICES.get(item.mail, ()),
    )


def _mail_says(item: RunItem, contact: Contact) -> str:
    """Say of a letter that went nowhere why, and what is next."""
    if item.mail == Mail.NONE:
        return contact.why_not_mailed
    if item.mail not in (Mail.REFUSED, Mail.BOUNCED):
        return item.mail_says
    said = [item.mail_says] if item.mail == Mail.REFUSED else []
    return " ".join([*said, _next(contact)])


def _next(contact: Contact) -> str:
    if not contact.gets_papers:
        return contact.why_not_mailed
    if not contact.address:
        return "It is in the printer’s file now, but there is no postal address either: ask them for one."
    return "It is in the printer’s file now; send that by post, or mend the address and send it again."
