"""The ward in numbers: a month's census, nights, lengths of stay and minutes."""

from django.http import HttpRequest, HttpResponse

from clinic.queries import ward_in_numbers as query
from clinic.queries.ward_tables import ward_tables as tables_of
from clinic.views import present
from config.access import gate
from config.fields import PeriodForm
from config.render import page, tables
from config.roles import CARE, Role

READ = {Role.BOOKKEEPER, Role.READER} | CARE


@gate(read=READ)
def ward_in_numbers(request: HttpRequest) -> HttpResponse:
    """Show a period, by default this month so far."""
    form, numbers = _asked(request)
    status = 422 if form.errors else 200
    return page(request, "clinic/ward_in_numbers/page.html", numbers=numbers, form=form, status=status)


@gate(read=READ)
def ward_tables(request: HttpRequest, kind: str) -> HttpResponse:
    _, numbers = _asked(request)
    name = f"ward-{numbers.first}-{numbers.last}"
    return tables(*tables_of(numbers=numbers), filename=name, kind=kind)


def _asked(request: HttpRequest) -> tuple[PeriodForm, query.WardInNumbers]:
    today = present.read().ward
    form = PeriodForm(request.GET, first=today.replace(day=1), last=today)
    period = (form.cleaned_data["from_on"], form.cleaned_data["to_on"]) if form.is_valid() else None
    first, last = period or (today.replace(day=1), today)
    return form, query.ward_in_numbers(first=min(first, today), last=last, today=today)
