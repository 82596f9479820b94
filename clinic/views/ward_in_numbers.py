"""The ward in numbers: a month's census, nights, lengths of stay and minutes."""

from django.http import HttpRequest, HttpResponse

from clinic.queries import ward_in_numbers as query
from clinic.views import present
from config.access import gate
from config.fields import PeriodForm
from config.render import page
from config.roles import CARE, Role

READ = {Role.BOOKKEEPER, Role.READER} | CARE


@gate(read=READ)
def ward_in_numbers(request: HttpRequest) -> HttpResponse:
    """Show a period, by default this month so far."""
    today = present.read().ward
    form = PeriodForm(request.GET, first=today.replace(day=1), last=today)
    period = (form.cleaned_data["from_on"], form.cleaned_data["to_on"]) if form.is_valid() else None
    first, last = period or (today.replace(day=1), today)
    return page(
        request,
        "clinic/ward_in_numbers/page.html",
        numbers=query.ward_in_numbers(first=min(first, today), last=last, today=today),
        form=form,
        status=422 if form.errors else 200,
    )
