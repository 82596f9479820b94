"""The receipt or letter for one gift, and for a donor's year: as a draft with what came back, then issued."""

from collections.abc import Callable

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse

from clinic.actions.issue_receipt import acknowledged, issue_receipt
from clinic.forms.papers import ReceiptForm
from clinic.formulas.in_return import SITE, US
from clinic.models import IssuedPaper
from clinic.queries import gift_receipt as query
from clinic.queries import issued_papers
from clinic.queries.gift_receipt import Receipt, ReceiptImpossible
from clinic.views import present
from clinic.views.issued_papers import tried
from clinic.views.papers import READ, WRITE
from config.access import gate
from config.render import page, redirect
from ledger.queries import donors, gifts, holder


@gate(read=READ, write=WRITE)
def gift_receipt(request: HttpRequest, gift_id: int) -> HttpResponse:
    story = gifts.gift(gift_id=gift_id)
    if story is None or story.row.donor_id is None:
        raise Http404
    row = story.row
    stands = issued_papers.acknowledgment_of(donor_id=row.donor_id, gift_id=gift_id, year=row.received_on.year)
    form = _form(request, SITE if row.way == "giving_site" else US)
    return _page(
        request,
        form,
        stands,
        lambda **said: query.gift_receipt(gift_id=gift_id, **said),
        {"gift_id": gift_id},
        whose=donors.donor(donor_id=row.donor_id).name,
        back=reverse("ledger:gift", args=[gift_id]),
        back_words="The gift",
    )


@gate(read=READ, write=WRITE)
def year_receipt(request: HttpRequest, donor_id: int, year: int) -> HttpResponse:
    donor = donors.donor(donor_id=donor_id)
    if donor is None or not 1900 <= year <= 2199:
        raise Http404
    donor_id = donor.donor_id
    stands = issued_papers.acknowledgment_of(donor_id=donor_id, gift_id=None, year=year)
    without = acknowledged(donor_id=donor_id, but=stands)
    return _page(
        request,
        _form(request, US),
        stands,
        lambda **said: query.year_receipt(donor_id=donor_id, year=year, without=without, **said),
        {"donor_id": donor_id, "year": year},
        whose=f"{donor.name}, {year}",
        back=reverse("ledger:donor", args=[donor_id]),
        back_words="The donor",
    )


def _form(request: HttpRequest, by_default: str) -> ReceiptForm:
    books = holder.holder()
    return ReceiptForm(
        request.POST or None, country=books.country if books else "", initial={"receipted_by": by_default}
    )


def _page(
    request: HttpRequest,
    form: ReceiptForm,
    last: IssuedPaper | None,
    read: Callable[..., Receipt],
    of: dict[str, int],
    **facts: object,
) -> HttpResponse:
    """Show the draft with what the form says; issue it unless only the draft is asked for."""
    now, canceled = present.read(), getattr(last, "withdrawal", None)
    may_issue = last is None or canceled is not None
    if form.is_valid() and may_issue and "show" not in request.POST:
        why = {"replaces": last, "why": canceled.why} if canceled else {}
        common = {"house": now.house, "by": request.user, "today": now.today, "at": now.at}
        said = {"key": form.cleaned_data["key"], "returned": form.returned}
        made = tried(form, lambda: issue_receipt(**said, **of, **why, **common))
        if made is not None:
            return redirect(request, "clinic:issued_paper", paper=str(made.number))
    receipt, obstacle = None, ""
    if may_issue:
        try:
            receipt = read(issued_on=now.today, house=now.house, signer=request.user.name, returned=form.returned)
        except ReceiptImpossible as impossible:
            obstacle = str(impossible)
    return page(
        request,
        "clinic/gift_receipt/page.html",
        receipt=receipt,
        obstacle=obstacle,
        form=form,
        issued=None if may_issue or last is None else issued_papers.row_of(last),
        may_write=request.user.may(*WRITE),
        status=422 if form.errors else 200,
        **facts,
    )
