"""A visit of an animal that is not in the ward."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from clinic.actions import visits as actions
from clinic.forms.visits import VisitForm
from clinic.models import Animal
from clinic.views import present
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import CARE


@gate(write=CARE)
def visit(request: HttpRequest, animal_id: int) -> HttpResponse:
    now, found = present.read(), get_object_or_404(Animal, pk=animal_id)
    form = VisitForm(request.POST or None, initial={"on": now.ward})
    if form.is_valid():
        said = form.cleaned_data
        made = act(form, lambda: actions.visit(animal=found, **said, by=request.user, today=now.ward, at=now.at))
        if made is not None:
            return redirect(request, "clinic:animal", animal_id=animal_id)
    facts = {"animal": found, "form": form}
    return page(request, "clinic/animal/visit.html", **facts, status=422 if form.errors else 200)
