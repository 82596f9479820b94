"""People: the list, adding somebody, roles, invitations, leaving and coming back."""

from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from clinic.actions import invitations
from clinic.actions import people as actions
from clinic.forms.people import PersonForm, RolesForm
from clinic.models import User
from clinic.queries import people as queries
from clinic.views import present
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import Role

READ = {Role.READER}
WRITE = {Role.MANAGER}


@gate(read=READ, write=WRITE)
def people(request: HttpRequest) -> HttpResponse:
    found = queries.people(at=present.read().at)
    return page(request, "clinic/people/people.html", people=found, may_write=request.user.may(*WRITE))


@gate(write=WRITE)
def person_add(request: HttpRequest) -> HttpResponse:
    now = present.read()
    form = PersonForm(request.POST or None)
    if form.is_valid():
        added = act(form, lambda: actions.add(**form.cleaned_data, by=request.user, today=now.today, at=now.at))
        if added is not None:
            return redirect(request, "clinic:person", person_id=added.pk)
    return page(request, "clinic/people/add.html", form=form, status=422 if form.errors else 200)


@gate(read=READ, write=WRITE)
def person(request: HttpRequest, person_id: int) -> HttpResponse:
    now = present.read()
    form = RolesForm(request.POST) if request.method == "POST" else None
    if form is not None and form.is_valid():
        changed = act(
            form,
            lambda: actions.change_roles(person=_person(person_id), **form.cleaned_data, by=request.user, at=now.at),
        )
        if changed is not None:
            return redirect(request, "clinic:person", person_id=person_id)
    return _person_page(request, person_id, form=form)


@require_POST
@never_cache
@gate(write=WRITE)
def person_invite(request: HttpRequest, person_id: int) -> HttpResponse:
    """Make an invitation and show its link, this once: the database keeps only its hash."""
    press = Form({})
    now = present.read()
    token = act(press, lambda: invitations.invite(person=_person(person_id), by=request.user, at=now.at))
    link = request.build_absolute_uri(reverse("clinic:invitation", args=[token])) if token else ""
    return _person_page(request, person_id, press=press, link=link)


@require_POST
@gate(write=WRITE)
def person_leave(request: HttpRequest, person_id: int) -> HttpResponse:
    now = present.read()
    press = Form({})
    left = act(press, lambda: actions.leave(person=_person(person_id), by=request.user, today=now.today, at=now.at))
    if left is None:
        return _person_page(request, person_id, press=press)
    return redirect(request, "clinic:person", person_id=person_id)


@require_POST
@gate(write=WRITE)
def person_come_back(request: HttpRequest, person_id: int) -> HttpResponse:
    now = present.read()
    press = Form({})
    back = act(press, lambda: actions.come_back(person=_person(person_id), by=request.user, at=now.at))
    if back is None:
        return _person_page(request, person_id, press=press)
    return redirect(request, "clinic:person", person_id=person_id)


def _person(person_id: int) -> User:
    return get_object_or_404(User, pk=person_id)


def _person_page(
    request: HttpRequest,
    person_id: int,
    *,
    form: RolesForm | None = None,
    press: Form | None = None,
    link: str = "",
) -> HttpResponse:
    """Show a person. `form` is a refused change of roles; `press` a button, whose refusal belongs to no field."""
    found = queries.person(person_id=person_id, at=present.read().at)
    if found is None:
        raise Http404
    refused = list(press.non_field_errors()) if press is not None else []
    held = {"roles": [role.value for role in found.roles], "partner": found.partner_id}
    return page(
        request,
        "clinic/people/person.html",
        person_shown=found,
        form=form or RolesForm(initial=held),
        refused=refused,
        link=link,
        may_write=request.user.may(*WRITE),
        status=422 if refused or (form is not None and form.errors) else 200,
    )
