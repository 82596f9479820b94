"""Care nobody has paid: the list, and the decision who takes one animal's."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from clinic.forms.unpaid_care import EndStandForm, StandForm, TakeOverForm
from clinic.models import Animal
from clinic.queries import unpaid_care as query
from clinic.views import present
from config.access import gate
from config.acting import act
from config.render import page, redirect, tables
from config.roles import Role
from ledger.actions import standing_decisions
from ledger.actions import unpaid_care as actions
from ledger.queries import standing_decisions as standing_query

READ = {Role.VET, Role.BOOKKEEPER, Role.READER}


@gate(read=READ | {Role.MANAGER})
def unpaid_care(request: HttpRequest) -> HttpResponse:
    return page(
        request, "clinic/unpaid_care/page.html", unpaid=query.unpaid_care(), may_decide=request.user.may(Role.MANAGER)
    )


@gate(read=READ | {Role.MANAGER})
def unpaid_file(request: HttpRequest, kind: str) -> HttpResponse:
    name = f"unpaid-care-{present.read().today}"
    return tables(query.unpaid_table(query.unpaid_care()), filename=name, kind=kind)


@gate(write={Role.MANAGER})
def take_over(request: HttpRequest, animal_id: int) -> HttpResponse:
    now = present.read()
    animal = get_object_or_404(Animal.objects.select_related("partner"), pk=animal_id)
    unpaid = query.unpaid_care()
    row = next((row for row in unpaid.rows if row.animal_id == animal.pk), None)
    form = TakeOverForm(request.POST or None, funds=unpaid.funds_for(animal), has_partner=animal.partner is not None)
    if form.is_valid():
        taken = act(
            form,
            lambda: actions.take_over(
                key=form.cleaned_data["key"],
                subject_key=animal.key,
                **form.chosen,
                why=form.cleaned_data["why"],
                by=request.user.pk,
                today=now.today,
                at=now.at,
            ),
        )
        if taken is not None:
            return redirect(request, "clinic:unpaid_care")
    facts = {"animal": animal, "row": row, "form": form, "unpaid": unpaid}
    return page(request, "clinic/unpaid_care/take_over.html", status=422 if form.errors else 200, **facts)


@gate(write={Role.MANAGER})
def stand(request: HttpRequest, animal_id: int) -> HttpResponse:
    """Decide once for what nobody will pay of an animal's care from a day on."""
    now = present.read()
    animal = get_object_or_404(Animal.objects.select_related("partner"), pk=animal_id)
    form = StandForm(request.POST or None, has_partner=animal.partner is not None, initial={"from_on": now.ward})
    if form.is_valid():
        said = form.cleaned_data
        kept = act(
            form,
            lambda: standing_decisions.decide(**said, subject_key=animal.key, by=request.user.pk, at=now.at),
        )
        if kept is not None:
            return redirect(request, "clinic:stand", animal_id=animal.pk)
    return _standing(request, animal, form, EndStandForm(initial={"until_on": now.ward}))


@gate(write={Role.MANAGER})
def stand_end(request: HttpRequest, animal_id: int) -> HttpResponse:
    now = present.read()
    animal = get_object_or_404(Animal.objects.select_related("partner"), pk=animal_id)
    form = EndStandForm(request.POST or None, initial={"until_on": now.ward})
    if form.is_valid() and standing_query.is_of(decision_id=form.cleaned_data["decision_id"], subject_key=animal.key):
        kept = act(form, lambda: standing_decisions.end(**form.cleaned_data))
        if kept is not None:
            return redirect(request, "clinic:stand", animal_id=animal.pk)
    first = {"from_on": now.ward}
    return _standing(request, animal, StandForm(has_partner=animal.partner is not None, initial=first), form)


def _standing(request: HttpRequest, animal: Animal, form: StandForm, end: EndStandForm) -> HttpResponse:
    return page(
        request,
        "clinic/unpaid_care/stand.html",
        status=422 if form.errors or end.errors else 200,
        animal=animal,
        form=form,
        end=end,
        decisions=standing_query.standing_decisions(subject_key=animal.key),
    )
