"""What a supply costs to buy: read the list, set a cost from a day on."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from clinic.actions import supply_prices as actions
from clinic.forms.prices import SupplyPriceForm
from clinic.models import Supply
from clinic.queries import supply_prices as queries
from clinic.views import present
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import MONEY, Role

WRITE = frozenset({Role.BOOKKEEPER, Role.MANAGER})


@gate(read=MONEY)
def supply_prices(request: HttpRequest) -> HttpResponse:
    now = present.read()
    facts = {"lines": queries.supply_prices(on=now.ward), "on": now.ward, "may_write": request.user.may(*WRITE)}
    return page(request, "clinic/supply_prices/page.html", **facts)


@gate(write=WRITE)
def supply_price(request: HttpRequest, supply_id: int) -> HttpResponse:
    supply, now = get_object_or_404(Supply, pk=supply_id), present.read()
    form = SupplyPriceForm(request.POST or None, initial={"starts_on": now.ward})
    if form.is_valid():
        said = form.cleaned_data
        made = act(form, lambda: actions.set_supply_price(supply=supply, **said, by=request.user, at=now.at))
        if made is not None:
            return redirect(request, "clinic:supply_prices")
    facts = {"supply": supply, "form": form}
    return page(request, "clinic/supply_prices/price.html", **facts, status=422 if form.errors else 200)
