"""A partner's statement: as a draft, issued, and read by the partner's own contact."""

from datetime import date, timedelta

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from clinic.actions.issue_partner_statement import issue_partner_statement
from clinic.forms.papers import IssueForm
from clinic.models import Partner
from clinic.queries import issued_papers, partner_months
from clinic.queries.partner_statement import PartnerStatement
from clinic.queries.partner_statement import partner_statement as read_statement
from clinic.queries.partner_tables import partner_tables as tables_of
from clinic.queries.stationery import stationery_of
from clinic.views import present
from clinic.views.issued_papers import tried
from clinic.views.papers import READ, WRITE
from config import render
from config.access import gate
from config.fields import PeriodForm
from config.render import page, redirect
from config.roles import Role


@gate(read=READ, write=WRITE)
def partner_statement(request: HttpRequest, partner_id: int) -> HttpResponse:
    partner, now = get_object_or_404(Partner, pk=partner_id), present.read()
    stationery, issue = stationery_of(now.house), IssueForm(request.POST or None)
    if issue.is_valid():
        said = {name: issue.cleaned_data[name] for name in ("key", "from_on", "to_on")}
        common = {"partner": partner, "stationery": stationery, "by": request.user, "today": now.today, "at": now.at}
        made = tried(issue, lambda: issue_partner_statement(**said, **common))
        if made is not None:
            return redirect(request, "clinic:issued_paper", paper=str(made.number))
    form, days = _period(request, now.today)
    return page(
        request,
        "clinic/partner_statement/page.html",
        statement=read_statement(
            partner=partner, **days, issued_on=now.today, stationery=stationery, signer=request.user.name
        ),
        form=form,
        issue=issue if issue.errors else IssueForm(initial=days),
        issued=issued_papers.of_partner(partner=partner, **days),
        may_write=request.user.may(*WRITE),
        status=422 if form.errors or issue.errors else 200,
    )


@gate(read=READ)
def partner_tables(request: HttpRequest, partner_id: int, kind: str) -> HttpResponse:
    partner, now = get_object_or_404(Partner, pk=partner_id), present.read()
    _, days = _period(request, now.today)
    said = {"issued_on": now.today, "stationery": stationery_of(now.house), "signer": ""}
    return _tables(read_statement(partner=partner, **days, **said), kind)


@gate(read={Role.PARTNER})
def your_month(request: HttpRequest, on: date) -> HttpResponse:
    """A partner's contact reads a month of their own group as its statement says it (F4)."""
    return page(request, "clinic/your_animals/month.html", month=_month(request, on))


@gate(read={Role.PARTNER})
def your_tables(request: HttpRequest, on: date, kind: str) -> HttpResponse:
    """The same month as tables in a file, for the partner's own books (F4)."""
    return _tables(_month(request, on).statement, kind)


@gate(read={Role.PARTNER})
def your_paper(request: HttpRequest, paper: str) -> HttpResponse:
    """Serve a partner's contact a statement of their own group, and nobody else's (F4)."""
    row = issued_papers.paper_of(number=paper)
    if row is None or row.partner_id is None or row.partner_id != request.user.partner_id:
        raise Http404
    content = issued_papers.content(paper=row)
    if content is None:
        raise Http404
    return render.file(content, filename=f"statement-{row.number}.pdf", content_type="application/pdf", inline=True)


def _month(request: HttpRequest, on: date) -> partner_months.PartnerMonth:
    now, partner = present.read(), request.user.partner
    month = partner and partner_months.partner_month(partner=partner, on=on, today=now.today, house=now.house)
    if not month:
        raise Http404
    return month


def _tables(statement: PartnerStatement, kind: str) -> HttpResponse:
    name = f"partner-{statement.partner_id}-{statement.from_on}-{statement.to_on}"
    return render.tables(*tables_of(statement=statement), filename=name, kind=kind)


def _period(request: HttpRequest, today: date) -> tuple[PeriodForm, dict[str, date]]:
    """The days asked for; without any, the month before this one."""
    last = today.replace(day=1) - timedelta(days=1)
    first = last.replace(day=1)
    form = PeriodForm(request.POST or request.GET, first=first, last=last)
    if form.is_valid():
        return form, {"from_on": form.cleaned_data["from_on"], "to_on": form.cleaned_data["to_on"]}
    return form, {"from_on": first, "to_on": last}
