"""Treatment paths: the list, one path's page with its decision, planning one, and what its operations came to."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_POST

from clinic.actions import path_decisions, path_results
from clinic.actions import paths as actions
from clinic.forms import paths as forms
from clinic.models import Animal, PathStep, TreatmentPath
from clinic.queries import finished_paths, medical_lines, path_list
from clinic.queries import paths as query
from clinic.queries.plan_keys import plan_key
from clinic.queries.published_series import SERIES
from clinic.views import present
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import Role
from ledger.actions import limits
from ledger.queries import plan_money

READ = {Role.BOOKKEEPER, Role.READER}
PLAN = {Role.VET, Role.MANAGER}


@gate(read=READ | PLAN)
def paths(request: HttpRequest) -> HttpResponse:
    return page(request, "clinic/path/list.html", paths=path_list.path_list(), may_plan=request.user.may(*PLAN))


@gate(read=READ | PLAN)
def finished(request: HttpRequest) -> HttpResponse:
    return page(
        request, "clinic/path/finished.html", finished=finished_paths.finished_paths(), may_plan=request.user.may(*PLAN)
    )


@gate(read=READ | PLAN)
def path(request: HttpRequest, path_id: int) -> HttpResponse:
    return _page(request, _found(path_id))


@require_POST
@gate(write=PLAN)
def path_decide(request: HttpRequest, path_id: int) -> HttpResponse:
    now = present.read()
    found = _found(path_id)
    form = forms.DecideForm(request.POST, is_chosen=found.parted_on is not None)
    if form.is_valid():
        said = form.cleaned_data
        decided = act(
            form,
            lambda: path_decisions.decide(path=found, **said, by=request.user, today=now.ward, at=now.at),
        )
        if decided is not None:
            return redirect(request, "clinic:path", path_id=found.pk)
    return _page(request, found, form=form)


@gate(write=PLAN)
def path_plan(request: HttpRequest, animal_id: int) -> HttpResponse:
    now = present.read()
    animal = get_object_or_404(Animal.objects.select_related("partner"), pk=animal_id)
    before = TreatmentPath.objects.filter(animal=animal, ended_on__isnull=True).first()
    said, operations = forms.said_before(path=before) if before else ({}, [])
    form = forms.PlanForm(request.POST or None, initial=said)
    rows = forms.OperationForms(request.POST or None, prefix="operation", initial=operations)
    if request.POST:
        if not rows.is_valid():
            form.is_valid()
            form.add_rows(rows)
        if form.is_valid():
            made = act(form, lambda: _plan(request, animal, form, rows, now))
            if made is not None:
                return redirect(request, "clinic:path", path_id=made.pk)
    facts = {"animal": animal, "form": form, "rows": rows, "replaces": before is not None, "series": SERIES}
    return page(request, "clinic/path/plan.html", status=422 if form.errors else 200, **facts)


def _plan(request: HttpRequest, animal: Animal, form: forms.PlanForm, rows: Any, now: present.Present) -> TreatmentPath:
    return actions.plan(
        key=form.cleaned_data["key"],
        animal=animal,
        name=form.cleaned_data["name"],
        keeps=form.cleaned_data["keeps"],
        operations=[row.said for row in rows.forms if row.said],
        **form.steps(),
        by=request.user,
        on=now.ward,
        at=now.at,
    )


@gate(write=PLAN)
def path_result(request: HttpRequest, path_id: int, step_id: int) -> HttpResponse:
    now = present.read()
    step = get_object_or_404(
        PathStep.objects.select_related("path__animal", "service"), pk=step_id, path=path_id, part="operation"
    )
    form = forms.ResultForm(request.POST or None, initial={"on": now.ward})
    if form.is_valid():
        said = form.cleaned_data
        recorded = act(
            form, lambda: path_results.record_result(step=step, **said, by=request.user, today=now.ward, at=now.at)
        )
        if recorded is not None:
            return redirect(request, "clinic:path", path_id=path_id)
    facts = {"path": step.path, "step": step, "form": form}
    return page(request, "clinic/path/result.html", status=422 if form.errors else 200, **facts)


@gate(write=PLAN)
def path_end(request: HttpRequest, path_id: int) -> HttpResponse:
    now = present.read()
    found = _found(path_id)
    form = forms.EndForm(request.POST or None, initial={"on": now.ward})
    if form.is_valid():
        said = form.cleaned_data
        ended = act(form, lambda: path_results.end(path=found, **said, by=request.user, today=now.ward, at=now.at))
        if ended is not None:
            return redirect(request, "clinic:path", path_id=path_id)
    return page(request, "clinic/path/end.html", status=422 if form.errors else 200, path=found, form=form)


def _found(path_id: int) -> TreatmentPath:
    return get_object_or_404(TreatmentPath.objects.select_related("animal__partner", "planned_by"), pk=path_id)


def _page(request: HttpRequest, found: TreatmentPath, form: forms.DecideForm | None = None) -> HttpResponse:
    now = present.read()
    by_wound = request.GET.get("days") == "wound"
    facts = query.path_page(path=found, on=now.ward, sees_money=True, house=now.house, wound_days=by_wound)
    may_decide = request.user.may(*PLAN) and facts.is_open and not facts.is_decided
    if may_decide and form is None:
        mine = request.user.pk
        initial = {"on": now.ward, "vet": mine, "manager": mine}
        form = forms.DecideForm(initial=initial, is_chosen=facts.is_chosen)
    return page(
        request,
        "clinic/path/page.html",
        status=422 if form and form.errors else 200,
        path=facts,
        form=form,
        line=medical_lines.present_line(path=found),
        may_plan=request.user.may(*PLAN),
        may_decide=may_decide,
        may_approve=request.user.may(Role.VET),
        may_lift=request.user.may(Role.MANAGER),
    )


@gate(write={Role.MANAGER})
def lift_ceiling(request: HttpRequest, path_id: int) -> HttpResponse:
    found, now = _found(path_id), present.read()
    form = forms.LiftForm(request.POST or None)
    key = plan_key(found)
    if form.is_valid():
        said = form.cleaned_data
        kept = act(form, lambda: limits.lift_ceiling(plan_key=key, on=now.today, by=request.user.pk, why=said["why"]))
        if kept is not None:
            return redirect(request, "clinic:path", path_id=path_id)
    facts = {"path": found, "form": form, "money": plan_money.plan_money(plan_key=key)}
    return page(request, "clinic/path/lift_ceiling.html", status=422 if form.errors else 200, **facts)
