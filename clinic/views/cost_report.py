"""The costs of all animals over a period, on screen and as a file."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.http import HttpRequest, HttpResponse

from clinic.queries import cost_report as queries
from clinic.queries.unsigned_days import unsigned_between
from clinic.views import present
from config.access import gate
from config.exports import Sheet
from config.fields import PeriodForm
from config.render import page, tables
from config.roles import MONEY


@dataclass(frozen=True)
class Offered:
    """A period that is one click away."""

    words: str
    from_on: date
    to_on: date


def _offered(today: date) -> tuple[Offered, ...]:
    month = today.replace(day=1)
    before = month - timedelta(days=1)
    return (
        Offered(f"{month:%B}", month, today),
        Offered(f"{before:%B}", before.replace(day=1), before),
        Offered(f"{today.year}", date(today.year, 1, 1), today),
    )


def _page(request: HttpRequest, form: PeriodForm) -> HttpResponse:
    now = present.read()
    report = queries.cost_report(**form.cleaned_data) if form.is_valid() else None
    last = min(report.to_on, now.ward) if report else now.ward
    return page(
        request,
        "clinic/cost_report/page.html",
        form=form,
        report=report,
        offered=_offered(now.ward),
        unsigned=unsigned_between(first=report.from_on, last=last, house=now.house) if report else (),
        status=200 if report else 422,
    )


def _period(request: HttpRequest) -> PeriodForm:
    """Read the period that was asked for; when none was, the twelve months up to today."""
    today = present.read().ward
    first = (today.replace(day=1) - timedelta(days=335)).replace(day=1)
    return PeriodForm(request.GET, first=first, last=today)


@gate(read=MONEY)
def cost_report(request: HttpRequest) -> HttpResponse:
    return _page(request, _period(request))


@gate(read=MONEY)
def cost_report_file(request: HttpRequest, kind: str) -> HttpResponse:
    form = _period(request)
    if not form.is_valid():
        return _page(request, form)
    said = form.cleaned_data
    name = f"costs-{said['from_on']}-{said['to_on']}"
    sheet = Sheet(title="What care cost", heads=queries.HEADS, rows=queries.case_rows(**said))
    return tables(sheet, filename=name, kind=kind)
