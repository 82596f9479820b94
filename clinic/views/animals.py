"""The animals: the list, admitting one, one animal's page, and what happens to its stay."""

from collections.abc import Callable

from django import forms as django_forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_POST

from clinic.actions import animals as actions
from clinic.actions import corrections, groups, orders, stays
from clinic.forms import animals as forms
from clinic.models import Animal, Stay
from clinic.queries import animal as animal_query
from clinic.queries import animals as list_query
from clinic.queries import door
from clinic.queries import paths as path_query
from clinic.views import present
from config import uploads
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import CARE, MONEY, Role

READ = {Role.BOOKKEEPER, Role.READER}
ORDERS = {Role.VET, Role.MANAGER}


@gate(read=READ | CARE)
def animals(request: HttpRequest) -> HttpResponse:
    now = present.read()
    found = list_query.animals(on=now.ward, show=request.GET.get("show", "care"), before=request.GET.get("before", ""))
    return page(request, "clinic/animals/page.html", animals=found, may_write=request.user.may(*CARE))


@gate(write=CARE)
def admit(request: HttpRequest) -> HttpResponse:
    """Admit an animal at the door; whoever was here before is offered first."""
    now, known = present.read(), ()
    form = forms.AdmitForm(request.POST or None, request.FILES or None, initial={"admitted_on": now.ward})
    if form.is_valid():
        known = _known(form, another="another" in request.POST)
        if not form.errors and (stay := _admitted(request, form, now)):
            return redirect(request, "clinic:animal", animal_id=stay.animal_id)
    if request.FILES and "photo" not in form.errors:
        form.add_error("photo", "Choose the photo again: a browser does not keep it. The rest stands as it was typed.")
    return page(
        request,
        "clinic/animals/admit.html",
        form=form,
        known=known,
        species=forms.SPECIES,
        has_levels=form.fields["level"].queryset.exists(),
        status=422 if form.errors else 200,
    )


def _known(form: forms.AdmitForm, *, another: bool) -> tuple[door.KnownAnimal, ...]:
    """Return who was here before; unless a person says that it is another animal, the form then waits."""
    said = {name: form.cleaned_data[name] for name in ("chip", "partner", "partner_number")}
    known = () if actions.is_sent(key=form.cleaned_data["key"]) else door.known_animals(**said)
    if known and not another:
        same = "chip" if any(one.same == "the chip" for one in known) else "partner_number"
        form.add_error(same, f"{known[0].name} ({known[0].number}) was here before. Nothing was saved yet.")
    return known


def _admitted(request: HttpRequest, form: forms.AdmitForm, now: present.Present) -> Stay | None:
    said = dict(form.cleaned_data)
    upload = said.pop("photo")
    kept = uploads.taken(form, upload, field="photo", pictures_only=True) if upload else None
    if upload and kept is None:
        return None
    return act(form, lambda: actions.admit(**said, photo=kept, by=request.user, today=now.ward, at=now.at))


@gate(read=READ | CARE)
def animal(request: HttpRequest, animal_id: int) -> HttpResponse:
    now = present.read()
    found = get_object_or_404(Animal.objects.select_related("partner"), pk=animal_id)
    facts = animal_query.animal(animal=found, on=now.ward, sees_money=request.user.may(*MONEY), house=now.house)
    return page(
        request,
        "clinic/animal/page.html",
        animal=facts,
        path=_path(found, now, request.user.may(*MONEY)),
        may_write=request.user.may(*CARE),
        may_order=request.user.may(*ORDERS),
        may_bill=request.user.may(*CARE, Role.BOOKKEEPER),
        may_open_fund=request.user.may(Role.BOOKKEEPER, Role.MANAGER),
        may_decide=request.user.may(Role.MANAGER),
        may_ask=request.user.may(Role.BOOKKEEPER, Role.MANAGER),
        appeal=found.appeals.order_by("-opened_on", "-pk").first() if request.user.may(*MONEY) else None,
        may_consent=request.user.may(Role.VET, Role.BOOKKEEPER, Role.MANAGER),
    )


@gate(write=CARE)
def correct(request: HttpRequest, animal_id: int) -> HttpResponse:
    """Say anew who an animal is: its name, its sex, its chip."""
    now, found = present.read(), get_object_or_404(Animal, pk=animal_id)
    stands = {name: getattr(found, name) for name in (*corrections.KEPT, *corrections.FREE)}
    form = forms.CorrectForm(request.POST or None, initial={**stands, "on": now.ward})

    def keep() -> object:
        said = dict(form.cleaned_data)
        when = {"on": said.pop("on"), "why": said.pop("why")}
        return corrections.correct(animal=found, said=said, **when, by=request.user, today=now.ward, at=now.at)

    return _one_form(request, found, form, "correct", keep)


@gate(write=CARE)
def discharge(request: HttpRequest, animal_id: int) -> HttpResponse:
    now = present.read()
    stay = _last_stay(animal_id) if request.method == "POST" else _open_stay(animal_id)
    form = forms.DischargeForm(request.POST or None, initial={"discharged_on": now.ward})
    return _one_form(
        request,
        stay.animal,
        form,
        "discharge",
        lambda: stays.discharge(stay=stay, **form.cleaned_data, by=request.user, today=now.ward, at=now.at),
    )


@gate(write=CARE)
def move(request: HttpRequest, animal_id: int) -> HttpResponse:
    now = present.read()
    stay = _open_stay(animal_id)
    form = forms.MoveForm(request.POST or None, initial={"place": stay.place_id})
    return _one_form(
        request,
        stay.animal,
        form,
        "move",
        lambda: stays.move(stay=stay, **form.cleaned_data, by=request.user, at=now.at),
    )


@gate(write=CARE)
def change_level(request: HttpRequest, animal_id: int) -> HttpResponse:
    now = present.read()
    stay = _open_stay(animal_id)
    form = forms.LevelForm(request.POST or None, initial={"from_on": now.ward})
    return _one_form(
        request,
        stay.animal,
        form,
        "change_level",
        lambda: stays.change_level(stay=stay, **form.cleaned_data, by=request.user, at=now.at),
    )


@gate(write=CARE)
def readmit(request: HttpRequest, animal_id: int) -> HttpResponse:
    now = present.read()
    found = get_object_or_404(Animal, pk=animal_id)
    form = forms.ReadmitForm(request.POST or None, initial={"admitted_on": now.ward})
    return _one_form(
        request,
        found,
        form,
        "readmit",
        lambda: actions.begin_stay(animal=found, **form.cleaned_data, by=request.user, today=now.ward, at=now.at),
    )


@gate(write=ORDERS)
def order(request: HttpRequest, animal_id: int) -> HttpResponse:
    now = present.read()
    found = get_object_or_404(Animal.objects.select_related("group"), pk=animal_id)
    form = forms.OrderForm(request.POST or None, initial={"starts_on": now.ward}, in_group=found.group is not None)

    def give() -> object:
        said = dict(form.cleaned_data)
        by = {"by": request.user, "at": now.at}
        if said.pop("for_all", False) and found.group:
            return groups.order(group=found.group, on=now.ward, **said, **by)
        return orders.give(animal=found, **said, **by)

    return _one_form(request, found, form, "order", give)


@require_POST
@gate(write=ORDERS)
def stop_order(request: HttpRequest, animal_id: int) -> HttpResponse:
    now = present.read()
    form = forms.StopForm(request.POST)
    if form.is_valid():
        act(form, lambda: orders.stop(order=form.cleaned_data["order"], on=now.ward, by=request.user, at=now.at))
    return redirect(request, "clinic:animal", animal_id=animal_id)


def _path(found: Animal, now: present.Present, sees_money: bool):
    path = path_query.path_of(animal=found)
    return path and path_query.path_page(path=path, on=now.ward, sees_money=sees_money, house=now.house)


def _open_stay(animal_id: int) -> Stay:
    return get_object_or_404(
        Stay.objects.select_related("animal", "place"), animal=animal_id, discharged_on__isnull=True
    )


def _last_stay(animal_id: int) -> Stay:
    """Return the stay that a discharge is about, also when the same discharge is sent a second time."""
    stay = Stay.objects.filter(animal=animal_id).select_related("animal").order_by("-admitted_on", "-pk").first()
    if stay is None:
        raise Http404
    return stay


def _one_form(
    request: HttpRequest, found: Animal, form: django_forms.Form, name: str, action: Callable[[], object]
) -> HttpResponse:
    """Show one form of an animal, or run its action and go back to the animal."""
    if form.is_valid() and act(form, action) is not None:
        return redirect(request, "clinic:animal", animal_id=found.pk)
    facts = {"animal": found, "form": form}
    return page(request, f"clinic/animal/{name}.html", status=422 if form.errors else 200, **facts)
