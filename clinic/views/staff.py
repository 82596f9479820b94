"""Staff time: what an hour of each grade costs, what a service takes of it, and what of a month was used."""

from datetime import date

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from clinic.actions import staff as actions
from clinic.forms.staff import GradeCostForm, GradeForm, MinutesForm
from clinic.models import Grade, Service
from clinic.queries import staff as queries
from clinic.views import present
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import MONEY, Role

WRITE = frozenset({Role.BOOKKEEPER, Role.MANAGER})


@gate(read=MONEY)
def staff(request: HttpRequest) -> HttpResponse:
    now = present.read()
    facts = {"grades": queries.grades(on=now.ward), "to_come": queries.to_come(on=now.ward), "on": now.ward}
    return page(request, "clinic/staff/page.html", **facts, may_write=request.user.may(*WRITE))


@gate(read=MONEY)
def capacity(request: HttpRequest, on: date) -> HttpResponse:
    return page(request, "clinic/staff/capacity.html", month=queries.capacity(on=on))


@gate(write=WRITE)
def grade_add(request: HttpRequest) -> HttpResponse:
    now = present.read()
    form = GradeForm(request.POST or None, initial={"starts_on": now.ward})
    if form.is_valid():
        made = act(form, lambda: actions.add_grade(**form.cleaned_data, by=request.user, at=now.at))
        if made is not None:
            return redirect(request, "clinic:staff")
    return page(request, "clinic/staff/add.html", form=form, status=422 if form.errors else 200)


@gate(write=WRITE)
def grade(request: HttpRequest, grade_id: int) -> HttpResponse:
    """Set what a grade costs from a day on."""
    found, now = get_object_or_404(Grade, pk=grade_id), present.read()
    form = GradeCostForm(request.POST or None, initial={**queries.cost_said(grade=found), "starts_on": now.ward})
    if form.is_valid():
        made = act(form, lambda: actions.set_cost(**form.cleaned_data, grade=found, by=request.user, at=now.at))
        if made is not None:
            return redirect(request, "clinic:staff")
    return page(request, "clinic/staff/cost.html", grade=found, form=form, status=422 if form.errors else 200)


@gate(write=WRITE)
def service_minutes(request: HttpRequest, service_id: int) -> HttpResponse:
    """Say how long one unit of a service takes whom."""
    service = get_object_or_404(Service, pk=service_id)
    form = MinutesForm(
        request.POST or None, grades=list(Grade.objects.order_by("name")), initial=queries.minutes_said(service=service)
    )

    def keep() -> int:
        said = form.cleaned_data
        actions.set_extras(service=service, room_minutes=said["room_minutes"], extras=said["extras"])
        return actions.set_minutes(service=service, minutes=form.minutes())

    if form.is_valid() and act(form, keep) is not None:
        return redirect(request, "clinic:price", service_id=service_id)
    facts = {"service": service, "form": form}
    return page(request, "clinic/staff/minutes.html", **facts, status=422 if form.errors else 200)
