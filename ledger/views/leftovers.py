"""What is left of funds that are not needed any more: the list, one fund, one giver's answer."""

from django.http import Http404, HttpRequest, HttpResponse

from config.access import gate
from config.acting import act
from config.render import page, redirect
from ledger.actions import leftovers as actions
from ledger.forms.transfers import AnswerForm, LeftoverForm
from ledger.queries import leftovers as queries
from ledger.views import present
from ledger.views.present import READ, WRITE


@gate(read=READ | WRITE)
def leftovers(request: HttpRequest) -> HttpResponse:
    return page(request, "ledger/leftovers/page.html", leftovers=queries.leftovers())


@gate(read=READ, write=WRITE)
def leftover(request: HttpRequest, fund_id: int) -> HttpResponse:
    """Show what is left of a fund; judge that its clause applies, and move it."""
    found, now = _found(fund_id), present.read()
    form = LeftoverForm(
        request.POST or None, funds=queries.may_take(fund_id=fund_id), initial={"to_fund_id": found.to_fund_id}
    )
    if form.is_valid():
        said = {name: form.cleaned_data[name] for name in ("key", "to_fund_id", "why")}
        done = act(form, lambda: _moved(said, fund_id, request.user.id, now))
        if done is not None:
            return redirect(request, "ledger:leftover", fund_id=fund_id)
    return page(
        request,
        "ledger/leftover/page.html",
        fund=found,
        form=form,
        may_write=request.user.may(*WRITE),
        status=422 if form.errors else 200,
    )


def _moved(said: dict, fund_id: int, by: int, now: present.Present) -> bool:
    actions.move(**said, fund_id=fund_id, by=by, today=now.today, at=now.at)
    return True


@gate(write=WRITE)
def leftover_answer(request: HttpRequest, fund_id: int, gift_id: int) -> HttpResponse:
    found, now = _found(fund_id), present.read()
    gift = next((gift for gift in found.to_ask if gift.gift_id == gift_id), None)
    form = AnswerForm(request.POST or None)
    if form.is_valid():
        said = form.cleaned_data
        kept = act(
            form,
            lambda: actions.answer(
                **said, fund_id=fund_id, gift_id=gift_id, by=request.user.id, today=now.today, at=now.at
            ),
        )
        if kept is not None:
            return redirect(request, "ledger:leftover", fund_id=fund_id)
    return page(
        request,
        "ledger/leftover_answer/page.html",
        fund=found,
        gift=gift,
        form=form,
        status=422 if form.errors else 200,
    )


def _found(fund_id: int) -> queries.LeftoverFund:
    found = queries.leftover(fund_id=fund_id)
    if found is None:
        raise Http404
    return found
