"""Shared costs: how they come down to a boarding day and a theater minute, and setting those of a year."""

from django.http import HttpRequest, HttpResponse

from clinic.actions import shared_costs as actions
from clinic.forms.shared_costs import SharedYearForm
from clinic.queries import shared_costs as queries
from clinic.views import present
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import MONEY, Role

WRITE = frozenset({Role.BOOKKEEPER, Role.MANAGER})


@gate(read=MONEY)
def shared_costs(request: HttpRequest) -> HttpResponse:
    now = present.read()
    facts = {"shared": queries.shared_costs_of(on=now.ward), "may_write": request.user.may(*WRITE)}
    return page(request, "clinic/shared_costs/page.html", **facts)


@gate(write=WRITE)
def shared_year_add(request: HttpRequest) -> HttpResponse:
    now = present.read()
    form = SharedYearForm(request.POST or None, initial={"starts_on": now.ward})
    if form.is_valid():
        said = form.cleaned_data | {"services": [actions.Service(**one) for one in form.cleaned_data["services"]]}
        if act(form, lambda: actions.set_year(**said, by=request.user, at=now.at)) is not None:
            return redirect(request, "clinic:shared_costs")
    return page(request, "clinic/shared_costs/add.html", form=form, status=422 if form.errors else 200)
