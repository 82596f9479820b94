"""Follow-ups: what is due and whom to call, planning one, moving it, its result, and what a procedure asks for."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from clinic.actions import follow_ups as actions
from clinic.forms import follow_ups as forms
from clinic.models import Animal, FollowUp, Service
from clinic.queries import follow_ups as queries
from clinic.views import present
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import CARE, Role

READ = {Role.BOOKKEEPER, Role.READER}
PLANS = {Role.VET, Role.MANAGER}


@gate(read=READ | CARE)
def follow_ups(request: HttpRequest) -> HttpResponse:
    user = request.user
    facts = {"follow_ups": queries.follow_ups(on=present.read().ward), "may_write": user.may(*CARE)}
    return page(request, "clinic/follow_ups/page.html", **facts, may_plan=user.may(*PLANS))


@gate(write=CARE)
def follow_up_add(request: HttpRequest, animal_id: int) -> HttpResponse:
    now, found = present.read(), get_object_or_404(Animal, pk=animal_id)
    form = forms.FollowUpForm(request.POST or None)
    if form.is_valid():
        said = form.cleaned_data
        made = act(form, lambda: actions.plan(animal=found, **said, by=request.user, today=now.ward, at=now.at))
        if made is not None:
            return redirect(request, "clinic:animal", animal_id=animal_id)
    facts = {"animal": found, "form": form}
    return page(request, "clinic/follow_ups/add.html", **facts, status=422 if form.errors else 200)


@gate(write=CARE)
def follow_up(request: HttpRequest, follow_up_id: int) -> HttpResponse:
    """Write down what came of a follow-up."""
    now, kept = present.read(), get_object_or_404(FollowUp, pk=follow_up_id)
    form = forms.FollowUpDoneForm(request.POST or None, initial={"done_on": now.ward})
    if form.is_valid():
        said = form.cleaned_data
        made = act(form, lambda: actions.done(follow_up=kept, **said, by=request.user, today=now.ward, at=now.at))
        if made is not None and made.result == FollowUp.Result.CARE:  # a visit or a stay begins on its page
            return redirect(request, "clinic:animal", animal_id=made.animal_id)
        if made is not None:
            return redirect(request, "clinic:follow_ups")
    facts = {"follow_up": queries.follow_up(follow_up=kept, on=now.ward), "form": form}
    return page(request, "clinic/follow_ups/done.html", **facts, status=422 if form.errors else 200)


@gate(write=CARE)
def follow_up_move(request: HttpRequest, follow_up_id: int) -> HttpResponse:
    now, kept = present.read(), get_object_or_404(FollowUp, pk=follow_up_id)
    form = forms.FollowUpMoveForm(request.POST or None)
    if form.is_valid():
        said = form.cleaned_data
        made = act(form, lambda: actions.move(follow_up=kept, **said, by=request.user, today=now.ward, at=now.at))
        if made is not None:
            return redirect(request, "clinic:follow_ups")
    facts = {"follow_up": queries.follow_up(follow_up=kept, on=now.ward), "form": form}
    return page(request, "clinic/follow_ups/move.html", **facts, status=422 if form.errors else 200)


@gate(write=PLANS)
def usual_follow_ups(request: HttpRequest, service_id: int) -> HttpResponse:
    """Say what a procedure usually asks for afterwards."""
    service = get_object_or_404(Service, pk=service_id, kind=Service.Kind.PROCEDURE)
    form = forms.UsualFollowUpsForm(request.POST or None, initial={"plans": queries.usual_words(service=service)})
    if form.is_valid() and act(form, lambda: actions.usually(service=service, **form.cleaned_data)) is not None:
        return redirect(request, "clinic:follow_ups")
    facts = {"service": service, "form": form}
    return page(request, "clinic/follow_ups/usual.html", **facts, status=422 if form.errors else 200)
