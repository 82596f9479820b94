"""The head of every paper and who signs letters, with a look at both."""

from django.http import HttpRequest, HttpResponse

from clinic.actions import letterhead as actions
from clinic.forms.letterhead import LetterheadForm
from clinic.views import present
from config import uploads
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import MONEY, Role
from ledger.queries import holder


@gate(read=MONEY, write={Role.MANAGER})
def letterhead(request: HttpRequest) -> HttpResponse:
    house = present.read().house
    initial = {name: getattr(house, name) for name in ("name", "address", "paper", "signs_name", "signs_title")}
    form = LetterheadForm(request.POST or None, request.FILES or None, initial=initial)
    if form.is_valid():
        said = dict(form.cleaned_data)
        for name in ("logo", "signature"):
            said[name] = uploads.taken(form, said[name], field=name, pictures_only=True) if said[name] else None
        if not form.errors and act(form, lambda: actions.change(**said)) is not None:
            return redirect(request, "clinic:letterhead")
    return page(
        request,
        "clinic/letterhead/page.html",
        form=form,
        house=house,
        holder=books.name if (books := holder.holder()) else house.name,
        may_write=request.user.may(Role.MANAGER),
        status=422 if form.errors else 200,
    )
