"""Groups: putting animals together, young born here, and splitting them again."""

from django import forms as django_forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_POST

from clinic.actions import groups as actions
from clinic.forms import groups as forms
from clinic.models import Animal, Group
from clinic.queries.groups import young_level
from clinic.views import present
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import CARE


@gate(write=CARE)
def group_add(request: HttpRequest, animal_id: int) -> HttpResponse:
    now, found = present.read(), get_object_or_404(Animal, pk=animal_id)
    form = forms.GroupForm(request.POST or None, animal=found)
    if form.is_valid():
        said = dict(form.cleaned_data)
        members = [found, *said.pop("others")]
        made = act(form, lambda: actions.form(**said, members=members, by=request.user, today=now.ward, at=now.at))
        if made is not None:
            return redirect(request, "clinic:animal", animal_id=animal_id)
    facts = {"animal": found, "form": form}
    return page(request, "clinic/groups/add.html", **facts, status=422 if form.errors else 200)


@gate(write=CARE)
def young(request: HttpRequest, animal_id: int) -> HttpResponse:
    """Admit young as born here, with their mother."""
    now, mother = present.read(), get_object_or_404(Animal, pk=animal_id)
    form = forms.YoungForm(request.POST or None, initial={"born_on": now.ward, "level": young_level(mother=mother)})
    if form.is_valid():
        said = dict(form.cleaned_data)
        said.pop("count")
        made = act(form, lambda: actions.admit_young(mother=mother, **said, by=request.user, today=now.ward, at=now.at))
        if made is not None:
            return redirect(request, "clinic:animal", animal_id=animal_id)
    facts = {"animal": mother, "form": form}
    return page(request, "clinic/groups/young.html", **facts, status=422 if form.errors else 200)


@require_POST
@gate(write=CARE)
def group_split(request: HttpRequest, group_id: int) -> HttpResponse:
    now, group = present.read(), get_object_or_404(Group, pk=group_id)
    form = django_forms.Form(request.POST)
    first = group.animals.order_by("pk").first()
    act(form, lambda: actions.split(group=group, by=request.user, today=now.ward, at=now.at))
    if first is None:
        return redirect(request, "clinic:animals")
    return redirect(request, "clinic:animal", animal_id=first.pk)
