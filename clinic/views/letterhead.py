"""The head of every paper, with a look at it."""

from django.http import HttpRequest, HttpResponse

from clinic.actions import letterhead as actions
from clinic.forms.letterhead import LetterheadForm
from clinic.views import present
from config import uploads
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import MONEY, Role


@gate(read=MONEY, write={Role.MANAGER})
def letterhead(request: HttpRequest) -> HttpResponse:
    house = present.read().house
    initial = {"name": house.name, "address": house.address, "paper": house.paper}
    form = LetterheadForm(request.POST or None, request.FILES or None, initial=initial)
    if form.is_valid():
        said = dict(form.cleaned_data)
        picture = said.pop("logo")
        logo = uploads.taken(form, picture, field="logo", pictures_only=True) if picture else None
        if not form.errors and act(form, lambda: actions.change(**said, logo=logo)) is not None:
            return redirect(request, "clinic:letterhead")
    return page(
        request,
        "clinic/letterhead/page.html",
        form=form,
        house=house,
        may_write=request.user.may(Role.MANAGER),
        status=422 if form.errors else 200,
    )
