"""How the paper of a run's item goes to whom it is for: by post, by e-mail, or not at all."""

from __future__ import annotations

from clinic.models import PaperRun, RunItem
from ledger.queries import donor_contacts
from ledger.queries.donor_contacts import Contact

NOT_ARRIVED = (RunItem.Mail.REFUSED, RunItem.Mail.BOUNCED)
NOBODY = Contact(email="", wants="nothing", is_erased=False)


def recipient(item: RunItem) -> Contact:
    if item.partner:
        return Contact(email=item.partner.email, wants="", is_erased=False)
    return donor_contacts.contacts(ids=[item.donor_id or 0]).get(item.donor_id or 0, NOBODY)


def printed(*, run: PaperRun) -> frozenset[int]:
    """Return the items whose paper goes by post: also where the e-mail that somebody wants did not arrive."""
    made = list(run.items.filter(state=RunItem.State.MADE).values_list("pk", "donor_id", "mail"))
    how = donor_contacts.contacts(ids={donor_id for _, donor_id, _ in made if donor_id})
    return frozenset(
        pk
        for pk, donor_id, mail in made
        if donor_id is None
        or (contact := how.get(donor_id, NOBODY)).is_printed
        or (contact.gets_papers and mail in NOT_ARRIVED)
    )
