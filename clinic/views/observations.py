"""How an animal is, in figures: seen and written down, and a mistyped wound reading taken back."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_POST

from clinic.actions import observations as actions
from clinic.forms.observations import ObserveForm, TakeBackForm
from clinic.models import Animal, WoundReading
from clinic.queries import wounds
from clinic.views import present
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import CARE


@gate(write=CARE)
def observe(request: HttpRequest, animal_id: int) -> HttpResponse:
    now = present.read()
    found = get_object_or_404(Animal, pk=animal_id)
    story = wounds.wound_story(animal=found, on=now.ward)
    before = {"wound": story.wound, "method": "axes" if story.is_axes else "traced"} if story else {}
    form = ObserveForm(request.POST or None, initial={"on": now.ward, "pain_of": "", **before})
    if form.is_valid():
        seen = act(
            form,
            lambda: actions.observe(animal=found, **form.said, by=request.user, today=now.ward, at=now.at),
        )
        if seen is not None:
            return redirect(request, "clinic:animal", animal_id=animal_id)
    facts = {"animal": found, "form": form, "wound": story}
    return page(request, "clinic/observations/observe.html", status=422 if form.errors else 200, **facts)


@require_POST
@gate(write=CARE)
def wound_take_back(request: HttpRequest, reading_id: int) -> HttpResponse:
    now = present.read()
    found = get_object_or_404(WoundReading.objects.select_related("observation"), pk=reading_id)
    act(TakeBackForm(request.POST), lambda: actions.take_back(reading=found, by=request.user, at=now.at))
    return redirect(request, "clinic:observe", animal_id=found.observation.animal_id)
