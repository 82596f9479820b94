"""Conditional gifts: the list, recording one, and what became of its condition."""

from django.http import Http404, HttpRequest, HttpResponse

from config.access import gate
from config.acting import act
from config.render import page, redirect
from ledger.actions import conditional_gifts as actions
from ledger.forms.gifts import AdvanceForm, SettleForm
from ledger.queries import conditional_gifts as queries
from ledger.queries import donors, funds
from ledger.views import present
from ledger.views.present import READ, WRITE


@gate(read=READ | WRITE)
def conditional_gifts(request: HttpRequest) -> HttpResponse:
    return page(
        request,
        "ledger/conditional_gifts/page.html",
        gifts=queries.conditional_gifts(),
        may_write=request.user.may(*WRITE),
    )


@gate(write=WRITE)
def conditional_gift_record(request: HttpRequest) -> HttpResponse:
    now = present.read()
    form = AdvanceForm(
        request.POST or None,
        donors=donors.choices(chosen=present.chosen(request, "donor_id")),
        funds=funds.open_for_gifts(),
        initial={"received_on": now.today, "donor_id": request.GET.get("donor_id")},
    )
    if form.is_valid():
        said = form.cleaned_data
        kept = act(form, lambda: actions.receive(**said, by=request.user.id, today=now.today, at=now.at))
        if kept is not None:
            return redirect(request, "ledger:conditional_gifts")
    return page(request, "ledger/conditional_gift_record/page.html", form=form, status=422 if form.errors else 200)


@gate(write=WRITE)
def conditional_gift_settle(request: HttpRequest, advance_id: int) -> HttpResponse:
    found, now = queries.conditional_gift(advance_id=advance_id), present.read()
    if found is None:
        raise Http404
    form = SettleForm(request.POST or None, initial={"on": now.today})
    if form.is_valid():
        said = {name: form.cleaned_data[name] for name in ("key", "on", "why")}
        settle = actions.meet if form.cleaned_data["outcome"] == "met" else actions.fail
        kept = act(
            form,
            lambda: settle(**said, advance_id=advance_id, by=request.user.id, today=now.today, at=now.at),
        )
        if kept is not None:
            return redirect(request, "ledger:conditional_gifts")
    return page(
        request,
        "ledger/conditional_gift_settle/page.html",
        gift=found,
        form=form,
        status=422 if form.errors else 200,
    )
