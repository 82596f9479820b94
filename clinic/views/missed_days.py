"""Three missed days entered side by side."""

from datetime import date, timedelta

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from clinic.actions import missed_days as actions
from clinic.forms.missed_days import MissedDaysForm
from clinic.queries import missed_days as query
from clinic.views import present
from config import figures
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import CARE


@gate(write=CARE)
def missed_days(request: HttpRequest, on: date) -> HttpResponse:
    """Show what is not written down of three days, of one animal where it is named, and write what was ticked."""
    now = present.read()
    animal_id = figures.row_number(request.GET.get("animal", ""))
    missed = query.missed_days(last=on, today=now.ward, house=now.house, animal_id=animal_id)
    form = MissedDaysForm(request.POST or None, missed=missed)
    if form.is_valid():
        said = form.cleaned_data
        given = [
            actions.Missed(
                key=box.key,
                order=box.order,
                on=box.on,
                round=box.round,
                late_source=said[f"source-{box.on}"],
                given_by=said[f"giver-{box.on}"],
            )
            for box in missed.boxes
            if box.value in form.ticked
        ]
        by = {"by": request.user, "today": now.ward, "at": now.at}
        if act(form, lambda: actions.record(missed=given, **by)) is not None:
            asked = f"?animal={animal_id}" if animal_id else ""
            return redirect(request, reverse("clinic:missed_days", args=[on]) + asked)
    yesterday = now.ward - timedelta(days=1)
    facts = {"missed": missed, "form": form, "only": animal_id, "yesterday": yesterday}
    return page(request, "clinic/missed_days/page.html", status=422 if form.errors else 200, **facts)
