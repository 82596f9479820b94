"""What became of a fund's money, for whoever gave it: on screen, as a PDF, and as tables in a file."""

from datetime import date

from django.http import Http404, HttpRequest, HttpResponse

from clinic.queries import grant_report as query
from clinic.queries.grant_tables import grant_tables
from clinic.views import present
from config import render
from config.access import gate
from config.fields import PeriodForm
from config.roles import MONEY


@gate(read=MONEY)
def grant_report(request: HttpRequest, fund_id: int) -> HttpResponse:
    form = _period(request)
    report = _report(form, fund_id)
    return render.page(
        request,
        "clinic/grant_report/page.html",
        form=form,
        report=report,
        status=422 if form.errors else 200,
    )


@gate(read=MONEY)
def grant_report_pdf(request: HttpRequest, fund_id: int) -> HttpResponse:
    form = _period(request)
    report = _report(form, fund_id)
    if form.errors:
        return render.page(request, "clinic/grant_report/page.html", form=form, report=report, status=422)
    return render.pdf(
        "clinic/grant_report/print.html",
        filename=f"fund-{fund_id}-{report.roll.from_on}-{report.roll.to_on}.pdf",
        report=report,
        paper_size=report.paper,
        kind="grant",
    )


@gate(read=MONEY)
def grant_report_file(request: HttpRequest, fund_id: int, kind: str) -> HttpResponse:
    form = _period(request)
    report = _report(form, fund_id)
    if form.errors:
        return render.page(request, "clinic/grant_report/page.html", form=form, report=report, status=422)
    name = f"fund-{fund_id}-{report.roll.from_on}-{report.roll.to_on}"
    return render.tables(*grant_tables(report=report), filename=name, kind=kind)


def _period(request: HttpRequest) -> PeriodForm:
    """Read the period that was asked for; when none was, the year so far."""
    today = present.read().today
    return PeriodForm(request.GET, first=date(today.year, 1, 1), last=today)


def _report(form: PeriodForm, fund_id: int) -> query.GrantReport:
    now = present.read()
    year = {"from_on": date(now.today.year, 1, 1), "to_on": now.today}
    said = form.cleaned_data if form.is_valid() else year
    report = query.grant_report(fund_id=fund_id, **said, on=now.today, house=now.house)
    if report is None:
        raise Http404
    return report
