"""Asking for gifts for one animal: the sheet on screen and on paper, opening it, ending it."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from clinic.actions import appeals as actions
from clinic.forms.appeals import AppealEndForm, AppealForm
from clinic.models import Animal, Appeal
from clinic.queries import appeals as queries
from clinic.views import present
from config import render
from config.access import gate
from config.acting import act
from config.roles import MONEY, Role
from ledger.queries.raised import funds_naming

WRITE = frozenset({Role.MANAGER, Role.BOOKKEEPER})


@gate(write=WRITE)
def appeal_open(request: HttpRequest, animal_id: int) -> HttpResponse:
    now, animal = present.read(), get_object_or_404(Animal, pk=animal_id)
    funds = funds_naming(subject_key=animal.key)
    form = AppealForm(request.POST or None, funds=funds)
    if form.is_valid():
        said = form.cleaned_data
        made = act(form, lambda: actions.ask(animal=animal, **said, by=request.user, on=now.today, at=now.at))
        if made is not None:
            return render.redirect(request, "clinic:appeal", appeal_id=made.pk)
    return render.page(
        request,
        "clinic/appeal/open.html",
        animal=animal,
        form=form,
        funds=funds,
        needs=queries.suggestion(animal=animal, on=now.ward),
        standing=animal.appeals.filter(end=None).first(),
        status=422 if form.errors else 200,
    )


@gate(read=MONEY, write=WRITE)
def appeal(request: HttpRequest, appeal_id: int) -> HttpResponse:
    """Show the sheet; a post ends it."""
    now, kept = present.read(), _kept(appeal_id)
    form = AppealEndForm(request.POST or None)
    if form.is_valid():
        why = form.cleaned_data["why"]
        ended = act(form, lambda: actions.end(appeal=kept, why=why, by=request.user, on=now.today, at=now.at))
        if ended is not None:
            return render.redirect(request, "clinic:appeal", appeal_id=kept.pk)
    return render.page(
        request,
        "clinic/appeal/page.html",
        sheet=queries.appeal_sheet(appeal=kept, on=now.today, house=now.house),
        form=form,
        may_write=request.user.may(*WRITE),
        status=422 if form.errors else 200,
    )


@gate(read=MONEY)
def appeal_pdf(request: HttpRequest, appeal_id: int) -> HttpResponse:
    now = present.read()
    sheet = queries.appeal_sheet(appeal=_kept(appeal_id), on=now.today, house=now.house)
    return render.pdf(
        "clinic/appeal/print.html",
        filename=f"appeal-{appeal_id}.pdf",
        sheet=sheet,
        paper_size=sheet.paper,
        kind="appeal",
    )


def _kept(appeal_id: int) -> Appeal:
    return get_object_or_404(Appeal.objects.select_related("animal__partner"), pk=appeal_id)
