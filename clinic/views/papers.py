"""Papers: the donors to write to, and one donor's impact statement on screen and as a PDF."""

from datetime import date

from django.http import Http404, HttpRequest, HttpResponse

from clinic.forms.papers import IssueForm
from clinic.queries import impact_statement as query
from clinic.queries import issued_papers, letter_texts, papers_past_years, papers_to_cancel
from clinic.queries.stationery import stationery_of
from clinic.views import present
from config import render
from config.access import gate
from config.fields import PeriodForm
from config.render import page
from config.roles import Role
from ledger.queries import donor_choices

READ = {Role.VET, Role.BOOKKEEPER, Role.MANAGER, Role.READER}
WRITE = {Role.BOOKKEEPER, Role.MANAGER}


@gate(read=READ)
def papers(request: HttpRequest) -> HttpResponse:
    now = present.read()
    form, from_on, to_on = _period(request, now.today)
    donors = donor_choices.donor_choices(from_on=from_on, to_on=to_on)
    facts = {"donors": donors, "form": form, "from_on": from_on, "to_on": to_on, "issued": issued_papers.latest()}
    facts |= {"to_cancel": papers_to_cancel.papers_to_cancel(), "letters": letter_texts.letters()}
    may_see = request.user.may(Role.BOOKKEEPER, Role.MANAGER, Role.READER)
    facts["past_years"] = len(papers_past_years.past_years(today=now.today)) if may_see else 0
    return page(request, "clinic/papers/page.html", status=422 if form.errors else 200, **facts)


@gate(read=READ)
def impact_statement(request: HttpRequest, donor_id: int) -> HttpResponse:
    return statement_page(request, donor_id)


@gate(read=READ)
def impact_statement_pdf(request: HttpRequest, donor_id: int) -> HttpResponse:
    _, statement = _statement(request, donor_id)
    return render.pdf(
        "clinic/impact_statement/print.html",
        filename=f"statement-{donor_id}-{statement.from_on}-{statement.to_on}.pdf",
        statement=statement,
        paper_size=statement.paper,
    )


def statement_page(request: HttpRequest, donor_id: int, *, issue: IssueForm | None = None) -> HttpResponse:
    """Show a donor's days as a draft, or lead to the paper that was issued for them."""
    form, statement = _statement(request, donor_id)
    days = {"from_on": statement.from_on, "to_on": statement.to_on}
    asked = issue or IssueForm(initial=days)
    return page(
        request,
        "clinic/impact_statement/page.html",
        status=422 if form.errors or asked.errors else 200,
        statement=statement,
        form=form,
        issue=asked,
        issued=issued_papers.of_donor(donor_id=donor_id, **days),
        may_write=request.user.may(*WRITE),
    )


def _period(request: HttpRequest, today: date) -> tuple[PeriodForm, date, date]:
    form = PeriodForm(request.POST or request.GET, first=today.replace(month=1, day=1), last=today)
    if form.is_valid():
        return form, form.cleaned_data["from_on"], form.cleaned_data["to_on"]
    return form, today.replace(month=1, day=1), today


def _statement(request: HttpRequest, donor_id: int) -> tuple[PeriodForm, query.Statement]:
    now = present.read()
    form, from_on, to_on = _period(request, now.today)
    donor = donor_choices.donor_choice(donor_id=donor_id, from_on=from_on, to_on=to_on)
    if donor is None:
        raise Http404
    return form, query.impact_statement(
        donor_id=donor_id,
        donor=donor.name,
        address=donor.address,
        from_on=from_on,
        to_on=to_on,
        issued_on=now.today,
        stationery=stationery_of(now.house),
        signer=request.user.name,
    )
