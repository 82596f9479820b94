"""A month or a year for the board: on screen, as a PDF, and as tables in a file."""

from datetime import timedelta

from django.http import HttpRequest, HttpResponse

from clinic.queries import board_report as query
from clinic.queries.board_tables import board_tables
from clinic.views import present
from config import render
from config.access import gate
from config.fields import PeriodForm
from config.roles import MONEY


@gate(read=MONEY)
def board_report(request: HttpRequest) -> HttpResponse:
    form = _period(request)
    report = _report(form) if form.is_valid() else None
    status = 200 if report else 422
    return render.page(request, "clinic/board_report/page.html", form=form, report=report, status=status)


@gate(read=MONEY)
def board_report_pdf(request: HttpRequest) -> HttpResponse:
    form = _period(request)
    if not form.is_valid():
        return render.page(request, "clinic/board_report/page.html", form=form, report=None, status=422)
    report = _report(form)
    return render.pdf(
        "clinic/board_report/print.html",
        filename=f"board-{report.scope.from_on}-{report.scope.to_on}.pdf",
        report=report,
        paper_size=report.paper,
        kind="board",
    )


@gate(read=MONEY)
def board_report_file(request: HttpRequest, kind: str) -> HttpResponse:
    form = _period(request)
    if not form.is_valid():
        return render.page(request, "clinic/board_report/page.html", form=form, report=None, status=422)
    report = _report(form)
    name = f"board-{report.scope.from_on}-{report.scope.to_on}-entry-{report.scope.as_of}"
    return render.tables(*board_tables(report=report), filename=name, kind=kind)


def _period(request: HttpRequest) -> PeriodForm:
    """Read the period that was asked for; when none was, the month before this one."""
    last = present.read().today.replace(day=1) - timedelta(days=1)
    return PeriodForm(request.GET, first=last.replace(day=1), last=last)


def _report(form: PeriodForm) -> query.BoardReport:
    now = present.read()
    return query.board_report(**form.cleaned_data, today=now.ward, house=now.house)
