"""The price list: read it, add a service, set a service's three figures from a day on."""

from django import forms
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_POST

from clinic.actions import prices as actions
from clinic.actions import services
from clinic.forms.prices import KitForm, PriceForm, ServiceForm
from clinic.models import Service
from clinic.queries import price as price_query
from clinic.queries import prices as query
from clinic.queries import starting_prices
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


@require_POST
@gate(write=WRITE)
def starting_list(request: HttpRequest) -> HttpResponse:
    """Take the invented list of the fixtures as a beginning, from today on; every figure can be set anew."""
    now = present.read()
    listed = starting_prices.read(settings.BASE_DIR / "fixtures" / "prices.toml")
    form = forms.Form(request.POST)
    act(form, lambda: actions.take_starting_list(listed=listed, starts_on=now.ward, by=request.user, at=now.at))
    return redirect(request, "clinic:prices")


@gate(write=WRITE)
def price(request: HttpRequest, service_id: int) -> HttpResponse:
    now = present.read()
    service = get_object_or_404(Service, pk=service_id)
    said = price_query.price_said(service=service, on=now.ward)
    form = PriceForm(request.POST or None, initial={"starts_on": now.ward, **said})
    if form.is_valid():
        made = act(form, lambda: actions.set_price(service=service, **form.cleaned_data, by=request.user, at=now.at))
        if made is not None:
            return redirect(request, "clinic:prices")
    facts = {"service": service, "form": form, "working": price_query.working(service=service, on=now.ward)}
    return page(request, "clinic/prices/price.html", status=422 if form.errors else 200, **facts)


@gate(write=WRITE)
def kit(request: HttpRequest, service_id: int) -> HttpResponse:
    """Say which supplies one tap uses."""
    service = get_object_or_404(Service, pk=service_id)
    form = KitForm(request.POST or None, initial={"supplies": query.kit_words(service=service)})
    if form.is_valid():
        made = act(form, lambda: services.fill_kit(service=service, **form.cleaned_data))
        if made is not None:
            return redirect(request, "clinic:prices")
    facts = {"service": service, "form": form}
    return page(request, "clinic/prices/kit.html", status=422 if form.errors else 200, **facts)


@gate(write=WRITE)
def service_add(request: HttpRequest) -> HttpResponse:
    form = ServiceForm(request.POST or None)
    if form.is_valid():
        made = act(form, lambda: services.add_service(**form.cleaned_data))
        if made is not None:
            return redirect(request, "clinic:price", service_id=made.pk)
    return page(request, "clinic/prices/service.html", form=form, status=422 if form.errors else 200)
