"""The price list: read it, add a service, set a service's three figures from a day on."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from clinic.actions import prices as actions
from clinic.actions import services
from clinic.forms.prices import PriceForm, ServiceForm
from clinic.models import Service
from clinic.queries import prices as query
from clinic.views import present
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import Role

READ = {Role.VET, Role.READER}
WRITE = {Role.BOOKKEEPER, Role.MANAGER}


@gate(read=READ | WRITE)
def prices(request: HttpRequest) -> HttpResponse:
    found = query.prices(on=present.read().ward)
    return page(request, "clinic/prices/page.html", prices=found, may_write=request.user.may(*WRITE))


@gate(write=WRITE)
def price(request: HttpRequest, service_id: int) -> HttpResponse:
    now = present.read()
    service = get_object_or_404(Service, pk=service_id)
    form = PriceForm(request.POST or None, initial={"starts_on": now.ward})
    if form.is_valid():
        made = act(form, lambda: actions.set_price(service=service, **form.cleaned_data, by=request.user, at=now.at))
        if made is not None:
            return redirect(request, "clinic:prices")
    facts = {"service": service, "form": form}
    return page(request, "clinic/prices/price.html", status=422 if form.errors else 200, **facts)


@gate(write=WRITE)
def service_add(request: HttpRequest) -> HttpResponse:
    form = ServiceForm(request.POST or None)
    if form.is_valid():
        made = act(form, lambda: services.add_service(**form.cleaned_data))
        if made is not None:
            return redirect(request, "clinic:price", service_id=made.pk)
    return page(request, "clinic/prices/service.html", form=form, status=422 if form.errors else 200)
