"""Review points of a path, set and dropped, and what happened on it besides its operations."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_POST

from clinic.actions import path_reviews as actions
from clinic.forms.observations import TakeBackForm
from clinic.forms.path_reviews import EventForm, ReviewForm
from clinic.models import ReviewPoint, TreatmentPath
from clinic.views import present
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import CARE, MONEY, Role

PLAN = {Role.VET, Role.MANAGER}


@gate(write=PLAN)
def path_review(request: HttpRequest, path_id: int) -> HttpResponse:
    now = present.read()
    found = _found(path_id)
    form = ReviewForm(request.POST or None)
    if form.is_valid():
        made = act(form, lambda: actions.set_point(path=found, **form.said, by=request.user, today=now.ward, at=now.at))
        if made is not None:
            return redirect(request, "clinic:path", path_id=path_id)
    return page(request, "clinic/path/review.html", status=422 if form.errors else 200, path=found, form=form)


@require_POST
@gate(write=PLAN)
def review_drop(request: HttpRequest, path_id: int, point_id: int) -> HttpResponse:
    now = present.read()
    point = get_object_or_404(ReviewPoint, pk=point_id)
    act(TakeBackForm(request.POST), lambda: actions.drop_point(point=point, by=request.user, at=now.at))
    return redirect(request, "clinic:path", path_id=path_id)


@gate(write=CARE)
def path_event(request: HttpRequest, path_id: int) -> HttpResponse:
    now = present.read()
    found = _found(path_id)
    form = EventForm(request.POST or None, initial={"on": now.ward})
    if form.is_valid():
        said = form.cleaned_data
        made = act(form, lambda: actions.record_event(path=found, **said, by=request.user, today=now.ward, at=now.at))
        if made is not None:
            if request.user.may(*MONEY):
                return redirect(request, "clinic:path", path_id=path_id)
            return redirect(request, "clinic:animal", animal_id=found.animal_id)
    return page(request, "clinic/path/event.html", status=422 if form.errors else 200, path=found, form=form)


def _found(path_id: int) -> TreatmentPath:
    return get_object_or_404(TreatmentPath.objects.select_related("animal"), pk=path_id)
