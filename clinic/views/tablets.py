"""Shared tablets: enrolled by the manager on the device itself, changed by initials and a short code."""

from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from clinic.actions import tablets as actions
from clinic.forms.tablets import ChangeForm, CodeForm, EnrollForm
from clinic.models import Tablet
from clinic.queries import tablets as queries
from clinic.views import present
from clinic.views.on_tablet import COOKIE, SALT, SESSION, YEAR, this_device
from clinic.views.sign_in import BACKEND
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import CARE, Role

READ, WRITE = {Role.MANAGER, Role.READER}, {Role.MANAGER}


@gate(read=READ, write=WRITE)
def tablets(request: HttpRequest) -> HttpResponse:
    """List the tablets; a form enrolls the device on which it is sent."""
    form = EnrollForm(request.POST or None)
    if form.is_valid():
        words, at = form.cleaned_data["words"], present.read().at
        secret = act(form, lambda: actions.enroll(words=words, by=request.user, at=at))
        if secret is not None:
            answer = redirect(request, "clinic:tablets")
            secure = request.is_secure()
            answer.set_signed_cookie(
                COOKIE, secret, salt=SALT, max_age=YEAR, httponly=True, samesite="Strict", secure=secure
            )
            return answer
    here = this_device(request)
    facts = {"tablets": queries.tablets(), "here": here.words if here else "", "form": form}
    may_write = request.user.may(*WRITE)
    status = 422 if form.errors else 200
    return page(request, "clinic/tablets/page.html", status=status, may_write=may_write, **facts)


@require_POST
@gate(write=WRITE)
def tablet_revoke(request: HttpRequest, tablet_id: int) -> HttpResponse:
    tablet, at = get_object_or_404(Tablet, pk=tablet_id), present.read().at
    act(Form({}), lambda: actions.revoke(tablet=tablet, by=request.user, at=at))
    return redirect(request, "clinic:tablets")


@sensitive_post_parameters("code")
@gate(write=CARE)
def tablet_code(request: HttpRequest) -> HttpResponse:
    """Let a person choose their own code, signed in with their password."""
    form = CodeForm(request.POST or None)
    if form.is_valid():
        code, at = form.cleaned_data["code"], present.read().at
        if act(form, lambda: actions.set_code(person=request.user, code=code, at=at)) is not None:
            return redirect(request, "clinic:tablet_code")
    since = queries.code_since(person=request.user)
    return page(request, "clinic/tablets/code.html", form=form, since=since, status=422 if form.errors else 200)


@sensitive_post_parameters("code")
@never_cache
@login_not_required
def tablet(request: HttpRequest) -> HttpResponse:
    """Let another person take over on an enrolled tablet; any other device has no such page."""
    here = this_device(request)
    if here is None:
        raise Http404
    form = ChangeForm(request.POST or None)
    if form.is_valid():
        said, at = form.cleaned_data, present.read().at
        person = act(form, lambda: actions.change_person(tablet=here, at=at, **said))
        if person is not None:
            request.session.flush()  # nothing of whoever stood here before stays
            login(request, person, backend=BACKEND)
            request.session[SESSION] = here.pk
            return redirect(request, "clinic:ward_sheet_today")
        if not form.errors:
            form.add_error("code", "Initials and code do not fit together.")
    return page(request, "clinic/tablets/change.html", form=form, here=here.words, status=422 if form.errors else 200)
