"""How the paper of a run's item goes to whom it is for: by post, by e-mail, or not at all."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import QuerySet

from clinic.models import PaperRun, RunItem
from ledger.queries import donor_contacts
from ledger.queries.donor_contacts import Contact

NOT_ARRIVED = (RunItem.Mail.REFUSED, RunItem.Mail.BOUNCED, RunItem.Mail.POSTED)
NOBODY = Contact(email="", wants="nothing", is_erased=False)


def recipient(item: RunItem) -> Contact:
    return recipients(items=[item])[item.pk]


def recipients(*, items: Iterable[RunItem]) -> dict[int, Contact]:
    """Return by item how its donor or partner is reached."""
    found = list(items)
    how = donor_contacts.contacts(ids={item.donor_id for item in found if item.donor_id})
    return {item.pk: _partner(item) if item.partner_id else how.get(item.donor_id or 0, NOBODY) for item in found}


def is_printed(item: RunItem, contact: Contact) -> bool:
    """Return whether a paper goes by post: also where the e-mail that somebody wants did not arrive."""
    return contact.is_printed or (contact.gets_papers and item.mail in NOT_ARRIVED)


def is_to_mail(item: RunItem, contact: Contact) -> bool:
    return item.mail == RunItem.Mail.NONE and contact.is_mailed


def made(*, run: PaperRun) -> QuerySet[RunItem]:
    return run.items.filter(state=RunItem.State.MADE).select_related("partner").order_by("place")


def printed(*, run: PaperRun) -> frozenset[int]:
    """Return the items whose paper goes by post."""
    items = list(made(run=run))
    how = recipients(items=items)
    return frozenset(item.pk for item in items if is_printed(item, how[item.pk]))


def _partner(item: RunItem) -> Contact:
    return Contact(email=item.partner.email, wants="", is_erased=False, address=item.partner.address)
