"""Supplies: the shelf as a list, one supply, what arrives, what is counted."""

from decimal import Decimal

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from clinic.actions import counts, lots
from clinic.actions import supplies as actions
from clinic.forms.supplies import CountForm, GivenLotForm, LotForm, PacksForm, SupplyForm, TakeBackForm
from clinic.models import Supply, SupplyLot
from clinic.queries import supplies as shelf
from clinic.queries import supply as query
from clinic.views import present
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import MONEY, STAFF, Role
from ledger.queries import donors

WRITE = frozenset({Role.BOOKKEEPER, Role.MANAGER})
COUNT = WRITE | {Role.WARD}


@gate(read=STAFF)
def supplies(request: HttpRequest) -> HttpResponse:
    found = shelf.supplies(today=present.read().ward)
    return page(request, "clinic/supplies/page.html", supplies=found, **_may(request))


@gate(read=STAFF)
def supply(request: HttpRequest, supply_id: int) -> HttpResponse:
    found = _found(supply_id)
    return page(request, "clinic/supplies/supply.html", supply=found, **_may(request))


@gate(write=WRITE)
def supply_add(request: HttpRequest) -> HttpResponse:
    form = SupplyForm(request.POST or None)
    if form.is_valid():
        made = act(form, lambda: actions.add_supply(**form.cleaned_data))
        if made is not None:
            return redirect(request, "clinic:supply", supply_id=made.pk)
    return page(request, "clinic/supplies/add.html", form=form, status=422 if form.errors else 200)


@gate(write=WRITE)
def supply_packs(request: HttpRequest, supply_id: int) -> HttpResponse:
    found = get_object_or_404(Supply, pk=supply_id)
    said = "\n".join(f"{pack.name} {pack.holds.normalize():f}" for pack in found.packs.order_by("holds"))
    form = PacksForm(request.POST or None, initial={"packs": said})
    if form.is_valid():
        made = act(form, lambda: actions.set_packs(supply=found, **form.cleaned_data))
        if made is not None:
            return redirect(request, "clinic:supply", supply_id=supply_id)
    return _form(request, "packs", found, form, supply_id=supply_id)


@gate(write=WRITE)
def lot_add(request: HttpRequest, supply_id: int) -> HttpResponse:
    """Put a bought lot on the shelf."""
    found, now = get_object_or_404(Supply, pk=supply_id), present.read()
    form = LotForm(request.POST or None, units=_units(found), initial={"arrived_on": now.today})
    if form.is_valid():
        said = {"supply": found, "by": request.user, "today": now.today, "at": now.at}
        if act(form, lambda: lots.receive(**form.cleaned_data, **said)) is not None:
            return redirect(request, "clinic:supply", supply_id=supply_id)
    return _form(request, "lot", found, form, supply_id=supply_id)


@gate(write=WRITE)
def lot_given(request: HttpRequest, supply_id: int) -> HttpResponse:
    """Put a donated lot on the shelf, and its gift in the books."""
    found, now = get_object_or_404(Supply, pk=supply_id), present.read()
    form = GivenLotForm(
        request.POST or None, units=_units(found), donors=donors.choices(), initial={"arrived_on": now.today}
    )
    if form.is_valid():
        said = {"supply": found, "by": request.user, "today": now.today, "at": now.at}
        if act(form, lambda: lots.receive_donated(**form.cleaned_data, **said)) is not None:
            return redirect(request, "clinic:supply", supply_id=supply_id)
    return _form(request, "lot_given", found, form, supply_id=supply_id)


@gate(write=WRITE)
def lot_take_back(request: HttpRequest, lot_id: int) -> HttpResponse:
    lot, now = get_object_or_404(SupplyLot.objects.select_related("supply"), pk=lot_id), present.read()
    form = TakeBackForm(request.POST or None)
    if form.is_valid():
        said = {"lot": lot, "by": request.user, "today": now.today, "at": now.at}
        if act(form, lambda: lots.take_back(**form.cleaned_data, **said)) is not None:
            return redirect(request, "clinic:supply", supply_id=lot.supply_id)
    return _form(request, "take_back", lot.supply, form, supply_id=lot.supply_id, lot=lot)


@gate(write=COUNT)
def supply_count(request: HttpRequest, supply_id: int) -> HttpResponse:
    found, now = _found(supply_id), present.read()
    form = CountForm(request.POST or None)
    if form.is_valid():
        said = {"supply": Supply.objects.get(pk=supply_id), "by": request.user, "today": now.today, "at": now.at}
        if act(form, lambda: counts.count(**form.cleaned_data, **said)) is not None:
            return redirect(request, "clinic:supply", supply_id=supply_id)
    return _form(request, "count", found.line, form, supply_id=supply_id)


def _found(supply_id: int) -> query.SupplyPage:
    found = query.supply(supply_id=supply_id, today=present.read().ward)
    if found is None:
        raise Http404
    return found


def _form(request: HttpRequest, name: str, supply: object, form, *, supply_id: int, **facts: object) -> HttpResponse:
    facts |= {"supply": supply, "supply_id": supply_id, "form": form}
    return page(request, f"clinic/supplies/{name}.html", status=422 if form.errors else 200, **facts)


def _units(found: Supply) -> list[tuple[str, str]]:
    packs: list[tuple[str, Decimal]] = list(found.packs.order_by("holds").values_list("name", "holds"))
    return [
        (found.unit, found.unit),
        *((name, f"{name}, of {holds.normalize():f} {found.unit}") for name, holds in packs),
    ]


def _may(request: HttpRequest) -> dict[str, bool]:
    """The ward reads and counts, and sees no amount (J0)."""
    may = request.user.may
    return {"may_write": may(*WRITE), "may_count": may(*COUNT), "sees_money": may(*MONEY)}
