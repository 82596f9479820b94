"""Issues the receipt or letter for one gift, or for a year's."""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from clinic.actions.drawn_papers import draw_and_issue
from clinic.actions.issued_papers import ACKNOWLEDGES, About
from clinic.formulas.in_return import InReturn
from clinic.models import House, IssuedPaper, User
from clinic.queries.gift_receipt import Receipt, gift_receipt, year_receipt
from clinic.queries.issued_papers import corrected
from config import render
from ledger.queries import one_donor

TEMPLATE = "clinic/gift_receipt/print.html"


def issue_receipt(
    *,
    key: UUID,
    house: House,
    by: User,
    today: date,
    at: datetime,
    returned: InReturn,
    gift_id: int | None = None,
    donor_id: int | None = None,
    year: int | None = None,
    replaces: IssuedPaper | None = None,
    why: str = "",
) -> IssuedPaper:
    """Issue the paper of a gift, or of a donor's year; the same key gives the paper that it has issued.

    :raises ReceiptImpossible: when no paper can be made of it.
    :raises PaperRefused: when a gift among them is acknowledged already.
    :raises PaperNotPrinted: when it cannot be drawn; its number waits for the next try with this key.
    """
    known = IssuedPaper.objects.select_related("number").filter(number__key=key).first()
    if known is not None and (known.gift_id, known.donor_id) in ((gift_id, known.donor_id), (None, donor_id)):
        return known

    def read(number: str = "") -> Receipt:
        said = {"issued_on": today, "house": house, "signer": by.name, "returned": returned, "number": number}
        said["corrects"] = corrected(replaces)
        if gift_id is not None:
            return gift_receipt(gift_id=gift_id, **said)
        without = acknowledged(donor_id=donor_id or 0, but=replaces)
        return year_receipt(donor_id=donor_id or 0, year=year or today.year, without=without, **said)

    draft = read()
    about = About(
        kind=draft.kind, donor_id=draft.donor_id, gift_id=draft.gift_id, from_on=draft.from_on, to_on=draft.to_on,
        replaces=replaces, why=why, facts=draft.kept_facts(),
    )  # fmt: skip
    as_taken = {"read": lambda taken: read(str(taken.number)), "draw": drawn}
    return draw_and_issue(key=key, about=about, **as_taken, by=by, today=today, at=at)


def acknowledged(*, donor_id: int, but: IssuedPaper | None = None) -> frozenset[int]:
    """Return the gifts that a paper acknowledges which stands, but for one paper; of all who were ever this donor."""
    kin = one_donor.kin(donor_id=donor_id)
    live = IssuedPaper.objects.filter(donor_id__in=kin, kind__in=ACKNOWLEDGES, replaced_by=None, withdrawal=None)
    papers = live.exclude(pk=but.pk if but else None)
    return frozenset(gift for facts in papers.values_list("facts", flat=True) for gift in facts["gifts"])


def drawn(receipt: Receipt) -> bytes:
    return render.pdf_bytes(TEMPLATE, receipt=receipt, paper_size=receipt.paper, kind="receipt")
