"""The costs of all animals over a period, on screen and as a file."""

from datetime import timedelta

from django.http import HttpRequest, HttpResponse

from clinic.queries import cost_report as queries
from clinic.views import present
from config import exports
from config.access import gate
from config.fields import PeriodForm
from config.render import file, page
from config.roles import MONEY


def _period(request: HttpRequest) -> PeriodForm:
    """Read the period that was asked for; when none was, the twelve months up to today."""
    today = present.read().ward
    first = (today.replace(day=1) - timedelta(days=335)).replace(day=1)
    return PeriodForm(request.GET, first=first, last=today)


@gate(read=MONEY)
def cost_report(request: HttpRequest) -> HttpResponse:
    form = _period(request)
    report = queries.cost_report(**form.cleaned_data) if form.is_valid() else None
    return page(request, "clinic/cost_report/page.html", form=form, report=report, status=200 if report else 422)


@gate(read=MONEY)
def cost_report_file(request: HttpRequest) -> HttpResponse:
    form = _period(request)
    if not form.is_valid():
        return page(request, "clinic/cost_report/page.html", form=form, report=None, status=422)
    said = form.cleaned_data
    content = exports.csv(queries.HEADS, queries.case_rows(**said))
    name = f"costs-{said['from_on']}-{said['to_on']}.csv"
    return file(content, filename=name, content_type="text/csv; charset=utf-8")
