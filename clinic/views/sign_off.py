"""Signing off: the days that wait for it, and one day's preview and signature."""

import uuid
from datetime import date

from django import forms
from django.http import HttpRequest, HttpResponse

from clinic.actions import sign_off as actions
from clinic.queries import sign_off as query
from clinic.queries import signed_day as signed_query
from clinic.queries import unsigned_days
from clinic.views import present
from config.access import gate
from config.acting import act
from config.fields import KeyField
from config.render import page, redirect
from config.roles import Role

READ = {Role.BOOKKEEPER, Role.READER}
SIGN = {Role.VET, Role.MANAGER}


class SignForm(forms.Form):
    key = KeyField()
    digest = forms.CharField(max_length=64, widget=forms.HiddenInput)


@gate(read=READ | SIGN)
def days_to_sign(request: HttpRequest) -> HttpResponse:
    now = present.read()
    days = unsigned_days.waiting(today=now.ward, house=now.house)
    return page(request, "clinic/sign_off/days.html", days=days)


@gate(read=READ, write=SIGN)
def sign_off(request: HttpRequest, on: date) -> HttpResponse:
    now = present.read()
    form = SignForm(request.POST or None)
    if form.is_valid():
        said = form.cleaned_data
        signed = act(
            form,
            lambda: actions.sign(
                key=said["key"], on=on, digest=said["digest"], by=request.user, today=now.ward, at=now.at
            ),
        )
        if signed is not None:
            return redirect(request, "clinic:signed", on=on)
    preview = query.sign_off(on=on, today=now.ward)
    return page(
        request,
        "clinic/sign_off/page.html",
        status=422 if form.errors else 200,
        preview=preview,
        form=form,
        key=uuid.uuid4(),
        may_sign=request.user.may(*SIGN) and preview.may_sign,
    )


@gate(read=READ | SIGN)
def signed(request: HttpRequest, on: date) -> HttpResponse:
    """What was signed off on a day, as the books keep it."""
    now = present.read()
    return page(request, "clinic/sign_off/signed.html", day=signed_query.signed_day(on=on, house=now.house))
