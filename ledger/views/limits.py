"""The limits of a fund or an agreement."""

from django.http import Http404, HttpRequest, HttpResponse

from config.access import gate
from config.acting import act
from config.render import page, redirect
from ledger.actions import limits as actions
from ledger.forms.limits import LimitEndForm, LimitForm
from ledger.queries import fund_limits as query
from ledger.views import present
from ledger.views.present import READ, WRITE


@gate(read=READ, write=WRITE)
def limits(request: HttpRequest, fund_id: int) -> HttpResponse:
    now = present.read()
    if query.fund_limits(fund_id=fund_id, today=now.today) is None:
        raise Http404
    form = LimitForm(request.POST or None, initial={"from_on": now.today})
    if form.is_valid():
        made = act(form, lambda: actions.limit(**form.cleaned_data, fund_id=fund_id, by=request.user.id))
        if made is not None:
            return redirect(request, "ledger:limits", fund_id=fund_id)
    return _page(request, fund_id, form, LimitEndForm(initial={"until_on": now.today}))


@gate(write=WRITE)
def limit_end(request: HttpRequest, fund_id: int) -> HttpResponse:
    now = present.read()
    end = LimitEndForm(request.POST or None, initial={"until_on": now.today})
    found = query.fund_limits(fund_id=fund_id, today=now.today)
    theirs = {line.limit_id for line in found.lines} if found else set()
    if end.is_valid() and end.cleaned_data["limit_id"] in theirs:
        ended = act(end, lambda: actions.end(**end.cleaned_data))
        if ended is not None:
            return redirect(request, "ledger:limits", fund_id=fund_id)
    return _page(request, fund_id, LimitForm(initial={"from_on": now.today}), end)


def _page(request: HttpRequest, fund_id: int, form: LimitForm, end: LimitEndForm) -> HttpResponse:
    found = query.fund_limits(fund_id=fund_id, today=present.read().today)
    if found is None:
        raise Http404
    return page(
        request,
        "ledger/limits/page.html",
        status=422 if form.errors or end.errors else 200,
        limits=found,
        form=form,
        end=end,
        may_write=request.user.may(*WRITE),
    )
