"""Papers as they were issued: issuing a donor's statement, one paper's page, its file, a corrected one."""

from collections.abc import Callable

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_POST

from clinic.actions import issued_papers
from clinic.actions.issue_partner_statement import issue_partner_statement
from clinic.actions.issue_statement import issue_statement
from clinic.forms.papers import CancelForm, CorrectForm, IssueForm
from clinic.models import IssuedPaper
from clinic.queries import issued_papers as queries
from clinic.queries.impact_statement import impact_statement
from clinic.queries.partner_statement import partner_statement
from clinic.queries.stationery import stationery_of
from clinic.views import present
from clinic.views.papers import READ, WRITE, statement_page
from config import render
from config.access import gate
from config.acting import act
from config.refusal import Refusal
from config.render import PaperNotPrinted, page, redirect
from config.roles import Role
from ledger.queries import donor_choices

FOR_THE_BOOKS = WRITE | {Role.READER}  # who opens a paper whose donor's name was erased
STATEMENTS = (IssuedPaper.Kind.IMPACT, IssuedPaper.Kind.PARTNER)  # a receipt is canceled first, then issued anew


@gate(write=WRITE)
@require_POST
def statement_issue(request: HttpRequest, donor_id: int) -> HttpResponse:
    now = present.read()
    form = IssueForm(request.POST)
    if form.is_valid():
        said = form.cleaned_data
        donor = _donor(donor_id, said["from_on"], said["to_on"])
        common = {"donor_id": donor_id, "donor": donor.name, "address": donor.address}
        common["stationery"] = stationery_of(now.house)
        made = tried(form, lambda: issue_statement(**said, **common, by=request.user, today=now.today, at=now.at))
        if made is not None:
            return redirect(request, "clinic:issued_paper", paper=str(made.number))
    return statement_page(request, donor_id, issue=form)


@gate(read=READ, write=WRITE)
def issued_paper(request: HttpRequest, paper: str) -> HttpResponse:
    """Show a paper as it was issued, and issue a corrected one in its place."""
    row = queries.paper_of(number=paper)
    if row is None:
        raise Http404
    form = CorrectForm(request.POST or None)
    if form.is_valid() and row.kind in STATEMENTS:
        made = _corrected(request, row, form)
        if made is not None:
            return redirect(request, "clinic:issued_paper", paper=str(made.number))
    facts = queries.issued_paper(number=paper)
    return page(
        request,
        "clinic/issued_papers/page.html",
        paper=facts,
        changes=queries.changes(then=row.facts["sums"], now=_today(row)) if row.kind in STATEMENTS else (),
        form=form if row.kind in STATEMENTS else None,
        may_write=request.user.may(*WRITE),
        may_open=request.user.may(*FOR_THE_BOOKS),
        is_past_years=facts.is_past_years(present.read().today),
        status=422 if form.errors else 200,
    )


@gate(read=READ)
def issued_paper_file(request: HttpRequest, paper: str) -> HttpResponse:
    """Serve a paper byte for byte as it was issued."""
    row = queries.paper_of(number=paper)
    may_open = request.user.may(*FOR_THE_BOOKS)
    content = queries.content(paper=row, for_the_books=may_open) if row else None
    if row is None or content is None:
        raise Http404
    return render.file(
        content, filename=f"{row.kind}-{row.number}.pdf".replace("_", "-"), content_type="application/pdf", inline=True
    )


@gate(write=WRITE)
def paper_cancel(request: HttpRequest, paper: str) -> HttpResponse:
    """Record that a paper no longer counts; it is kept, and another may take its place under a number of its own."""
    row, now = queries.paper_of(number=paper), present.read()
    if row is None:
        raise Http404
    form = CancelForm(request.POST or None)
    if form.is_valid():
        done = act(form, lambda: issued_papers.withdraw(paper=row, **form.cleaned_data, by=request.user, at=now.at))
        if done is not None:
            return redirect(request, "clinic:issued_paper", paper=paper)
    facts = {"paper": queries.issued_paper(number=paper), "form": form}
    return page(request, "clinic/issued_papers/cancel.html", status=422 if form.errors else 200, **facts)


def tried(form: forms.Form, issue: Callable[[], IssuedPaper]) -> IssuedPaper | None:
    """Issue, in transactions of its own since it draws between them; a refusal is told on the form."""
    try:
        return issue()
    except (Refusal, PaperNotPrinted) as refused:
        form.add_error(None, str(refused))
        return None


def _corrected(request: HttpRequest, row: IssuedPaper, form: CorrectForm) -> IssuedPaper | None:
    now, said = present.read(), form.cleaned_data
    common = {
        "key": said["key"], "why": said["why"], "from_on": row.from_on, "to_on": row.to_on, "replaces": row,
        "stationery": stationery_of(now.house), "by": request.user, "today": now.today, "at": now.at,
    }  # fmt: skip
    if row.partner:
        return tried(form, lambda: issue_partner_statement(**common, partner=row.partner))
    donor = _donor(row.donor_id, row.from_on, row.to_on)
    whose = {"donor_id": donor.id, "donor": donor.name, "address": donor.address, "form": said["form"]}
    return tried(form, lambda: issue_statement(**common, **whose))


def _today(row: IssuedPaper) -> dict[str, int]:
    """Return what the same paper would say by the books as they stand."""
    now, days = present.read(), {"from_on": row.from_on, "to_on": row.to_on}
    common = {**days, "issued_on": now.today, "stationery": stationery_of(now.house), "signer": ""}
    if row.partner:
        return partner_statement(partner=row.partner, **common).sums()
    donor = _donor(row.donor_id, **days)
    return impact_statement(donor_id=donor.id, donor=donor.name, address=donor.address, **common).sums()


def _donor(donor_id: int | None, from_on, to_on) -> donor_choices.DonorChoice:
    donor = donor_choices.donor_choice(donor_id=donor_id or 0, from_on=from_on, to_on=to_on)
    if donor is None:
        raise Http404
    return donor
