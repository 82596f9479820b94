"""Owners, approvals, disputes and withdrawals, for the house and for a partner's own contact."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from clinic.actions import approvals as actions
from clinic.actions import partners
from clinic.forms import approvals as forms
from clinic.models import Animal, Approval, Dispute, Partner
from clinic.queries import approvals as query
from clinic.queries import disputes, line_story
from clinic.queries import your_animal as yours
from clinic.views import present
from clinic.views.lines import paid_of
from config import uploads
from config.access import gate
from config.acting import act
from config.render import file, page, redirect
from config.roles import Role

DECIDE = {Role.VET, Role.BOOKKEEPER, Role.MANAGER}
MONEY = {Role.BOOKKEEPER, Role.MANAGER}


@gate(write=DECIDE)
def owner(request: HttpRequest, animal_id: int) -> HttpResponse:
    now = present.read()
    animal = get_object_or_404(Animal.objects.select_related("partner"), pk=animal_id)
    form = forms.OwnerForm(request.POST or None, initial={"from_on": now.today})
    if form.is_valid():
        kept = act(form, lambda: actions.say_owner(**form.cleaned_data, animal=animal, by=request.user, at=now.at))
        if kept is not None:
            return redirect(request, "clinic:animal", animal_id=animal.pk)
    facts = {"animal": animal, "form": form, "owner": query.owner_of(animal=animal, on=now.today)}
    return page(request, "clinic/approval/owner.html", status=422 if form.errors else 200, **facts)


@gate(write=DECIDE)
def approval(request: HttpRequest, animal_id: int) -> HttpResponse:
    now = present.read()
    animal = get_object_or_404(Animal.objects.select_related("partner"), pk=animal_id)
    paths = {path.pk: path for path in animal.paths.filter(ended_on=None)}
    first = {"given_on": now.today, "path": next(iter(paths), None)}
    form = forms.ApprovalForm(request.POST or None, request.FILES or None, paths=paths.values(), initial=first)
    if form.is_valid():
        said = dict(form.cleaned_data)
        said["path"] = paths.get(said["path"])
        said["file"] = uploads.taken(form, said["file"]) if said["file"] else None
        kept = form.is_valid() and act(
            form, lambda: actions.approve(**said, animal=animal, by=request.user, today=now.today, at=now.at)
        )
        if kept:
            return redirect(request, "clinic:animal", animal_id=animal.pk)
    facts = {"animal": animal, "form": form, "owner": query.owner_of(animal=animal, on=now.today)}
    return page(request, "clinic/approval/page.html", status=422 if form.errors else 200, **facts)


@gate(read=DECIDE | {Role.READER})
def approval_file(request: HttpRequest, approval_id: int) -> HttpResponse:
    """Serve the paper on which the owner's yes stands."""
    row = get_object_or_404(Approval, pk=approval_id)
    content = uploads.read(sha256=row.sha256, content_type=row.content_type) if row.sha256 else None
    if content is None:
        raise Http404
    ending = uploads.ENDINGS[row.content_type]
    name = f"approval-{row.pk}.{ending}"
    return file(content, filename=name, content_type=row.content_type, inline=ending != "pdf")


@gate(write={Role.MANAGER})
def withdraw(request: HttpRequest, partner_id: int) -> HttpResponse:
    now = present.read()
    partner = get_object_or_404(Partner, pk=partner_id)
    form = forms.WithdrawForm(request.POST or None, initial={"from_on": now.today})
    if form.is_valid():
        kept = act(form, lambda: partners.withdraw(**form.cleaned_data, partner=partner, by=request.user, at=now.at))
        if kept is not None:
            return redirect(request, "clinic:partner", partner_id=partner.pk)
    facts = {"partner": partner, "form": form}
    return page(request, "clinic/approval/withdraw.html", status=422 if form.errors else 200, **facts)


@gate(read=DECIDE | {Role.READER}, write=MONEY)
def dispute(request: HttpRequest, dispute_id: int) -> HttpResponse:
    """Read what a partner disputes, and answer it."""
    now = present.read()
    row = get_object_or_404(Dispute.objects.select_related("partner"), pk=dispute_id)
    form = forms.SettleForm(request.POST or None)
    if form.is_valid():
        kept = act(form, lambda: partners.settle(dispute=row, **form.cleaned_data, by=request.user, at=now.at))
        if kept is not None:
            return redirect(request, "clinic:partner", partner_id=row.partner_id)
    line = next(line for line in disputes.disputes_of(partner=row.partner) if line.id == row.pk)
    story = line_story.line_story(number=row.entry_number, house=now.house)
    facts = {"dispute": line, "story": story, "form": form, "may_answer": request.user.may(*MONEY)}
    return page(request, "clinic/approval/dispute.html", status=422 if form.errors else 200, **facts)


@gate(read={Role.PARTNER}, write={Role.PARTNER})
def your_animal(request: HttpRequest, animal_id: int) -> HttpResponse:
    """A partner's contact reads one of their own animals, line by line, and says yes to its plan (F4)."""
    now, animal = present.read(), _own(request, animal_id)
    path = animal.paths.filter(ended_on=None).first()
    form = forms.YesForm(request.POST or None, initial={"path": path.pk if path else None})
    if path and form.is_valid() and form.cleaned_data["path"] == path.pk:
        kept = act(
            form,
            lambda: actions.approve(
                key=form.cleaned_data["key"],
                animal=animal,
                path=path,
                words=path.name,
                amount_minor=form.cleaned_data["amount_minor"],
                given_by=request.user.name,
                given_on=now.today,
                how=Approval.How.HERE,
                by=request.user,
                today=now.today,
                at=now.at,
            ),
        )
        if kept is not None:
            return redirect(request, "clinic:your_animal", animal_id=animal.pk)
    period, paid = paid_of(request, animal)
    read = yours.your_animal(animal=animal, path=path, paid=paid, on=now.today, house=now.house)
    facts = {"yours": read, "period": period, "form": form}
    return page(request, "clinic/your_animals/animal.html", status=422 if form.errors else 200, **facts)


@gate(read={Role.PARTNER}, write={Role.PARTNER})
def your_dispute(request: HttpRequest, animal_id: int, number: int) -> HttpResponse:
    """A partner's contact disputes a line that was asked of their group."""
    now, animal = present.read(), _own(request, animal_id)
    story = line_story.line_story(number=number, house=now.house)
    if story is None or story.animal_id != animal.pk:
        raise Http404
    form = forms.DisputeForm(request.POST or None)
    if form.is_valid():
        said = {**form.cleaned_data, "number": number, "partner": request.user.partner}
        kept = act(form, lambda: partners.dispute(**said, by=request.user, at=now.at))
        if kept is not None:
            return redirect(request, "clinic:your_animal", animal_id=animal.pk)
    facts = {"line": story.money.line, "animal": animal, "form": form}
    return page(request, "clinic/your_animals/dispute.html", status=422 if form.errors else 200, **facts)


def _own(request: HttpRequest, animal_id: int) -> Animal:
    """Whatever is not theirs is not there for a partner (F4)."""
    animals = Animal.objects.select_related("partner").exclude(partner=None)
    return get_object_or_404(animals, pk=animal_id, partner=request.user.partner)
