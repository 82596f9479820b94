"""The door: signing in and out, and choosing a password by invitation."""

from django.contrib.auth import authenticate, login, logout
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import resolve_url
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from clinic.actions import invitations
from clinic.forms.people import PasswordForm
from clinic.forms.sign_in import SignInForm
from clinic.models import House, User
from clinic.queries import people as queries
from clinic.views.on_tablet import this_device
from config import clock
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import Role

BACKEND = "django.contrib.auth.backends.ModelBackend"


@sensitive_post_parameters("password")
@never_cache
@login_not_required
def sign_in(request: HttpRequest) -> HttpResponse:
    house = House.objects.first()
    if house is None:
        return redirect(request, "clinic:set_up")
    if request.user.is_authenticated:
        return redirect(request, _onward(request))
    form = SignInForm(request.POST or None)
    if form.is_valid():
        person = authenticate(request, **form.cleaned_data)
        if person is not None:
            login(request, person)
            return redirect(request, _onward(request))
        form.add_error(
            None, "The sign-in name and the password do not fit together. Capital letters count in the password."
        )
    status = 422 if form.errors else 200
    facts = {"form": form, "house": house, "onward": _asked(request), "here": this_device(request)}
    return page(request, "clinic/sign_in/sign_in.html", status=status, **facts)


@require_POST
@gate(write=Role, on_tablet=True)
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    return redirect(request, "clinic:tablet" if this_device(request) else "clinic:sign_in")


@sensitive_post_parameters("password")
@never_cache
@login_not_required
def invitation(request: HttpRequest, token: str) -> HttpResponse:
    """Let an invited person choose a password, once, and come in."""
    at = clock.now()
    invited = queries.invited(token_sha256=invitations.sha256(token), at=at)
    if invited is None:
        return page(request, "clinic/sign_in/invitation_gone.html", status=410)
    form = PasswordForm(request.POST or None, person=User(sign_in=invited.sign_in, name=invited.name))
    if form.is_valid():
        password = form.cleaned_data["password"]
        person = act(form, lambda: invitations.accept(token=token, password=password, at=at))
        if person is not None:
            login(request, person, backend=BACKEND)
            return redirect(request, "clinic:home")
    status = 422 if form.errors else 200
    return page(request, "clinic/sign_in/invitation.html", form=form, invited=invited, status=status)


def _asked(request: HttpRequest) -> str:
    """Return where the person wanted to go, when it is an address of this house."""
    asked = request.POST.get("next") or request.GET.get("next") or ""
    here = {request.get_host()}
    return asked if url_has_allowed_host_and_scheme(asked, here, require_https=request.is_secure()) else ""


def _onward(request: HttpRequest) -> str:
    return _asked(request) or resolve_url("clinic:home")
