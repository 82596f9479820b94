"""One entry with its story, and taking back what was typed wrong."""

from django.http import Http404, HttpRequest, HttpResponse

from config.access import gate
from config.acting import act
from config.render import page, redirect
from ledger.actions import reversals
from ledger.forms.gifts import TakeBackForm
from ledger.queries.entry_story import EntryStory, entry_story
from ledger.views import present
from ledger.views.present import READ, WRITE


@gate(read=READ | WRITE)
def entry(request: HttpRequest, number: int) -> HttpResponse:
    return page(request, "ledger/entry/page.html", entry=_found(number), may_write=request.user.may(*WRITE))


@gate(write=WRITE)
def entry_take_back(request: HttpRequest, number: int) -> HttpResponse:
    found, now = _found(number), present.read()
    form = TakeBackForm(request.POST or None)
    if form.is_valid():
        said = form.cleaned_data
        kept = act(
            form,
            lambda: reversals.take_back(**said, number=number, by=request.user.id, today=now.today, at=now.at),
        )
        if kept is not None:
            return redirect(request, "ledger:entry", number=kept.id)
    return page(request, "ledger/entry_take_back/page.html", form=form, entry=found, status=422 if form.errors else 200)


def _found(number: int) -> EntryStory:
    found = entry_story(number=number)
    if found is None:
        raise Http404
    return found
