"""Money that goes out to the practice or for no animal, and a partner's own money."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from config.access import gate
from config.acting import act
from config.render import page, redirect
from ledger.actions import partner_money as partner_actions
from ledger.actions import practice as practice_actions
from ledger.actions import spending
from ledger.forms.money import PartnerMoneyForm, PracticeForm, SpendingForm
from ledger.models import Entry
from ledger.queries import fund_choices, in_and_out, owed
from ledger.views import present
from ledger.views.present import READ, WRITE

PARTNER: dict[str, Callable[..., Entry]] = {
    "pay": partner_actions.pay,
    "deposit": partner_actions.deposit,
    "use_deposit": partner_actions.use_deposit,
    "return_deposit": partner_actions.return_deposit,
    "give_up": partner_actions.give_up,
}


@gate(read=READ | WRITE)
def in_and_out_page(request: HttpRequest) -> HttpResponse:
    """Show every way in which money comes and goes, with what waits at each."""
    return page(
        request, "ledger/in_and_out/page.html", money=in_and_out.in_and_out(), may_write=request.user.may(*WRITE)
    )


@gate(write=WRITE)
def spending_record(request: HttpRequest) -> HttpResponse:
    now = present.read()
    form = SpendingForm(request.POST or None, funds=fund_choices.unrestricted(), initial={"on": now.today})
    if form.is_valid():
        said = form.cleaned_data
        kept = act(form, lambda: spending.spend(**said, by=request.user.id, today=now.today, at=now.at))
        if kept is not None:
            return redirect(request, "ledger:entry", number=kept.id)
    return page(request, "ledger/spending_record/page.html", form=form, status=422 if form.errors else 200)


@gate(read=READ, write=WRITE)
def practice(request: HttpRequest) -> HttpResponse:
    """Show what the funds owe the practice, and pay it."""
    now = present.read()
    form = PracticeForm(request.POST or None, initial={"on": now.today})
    if form.is_valid():
        said = form.cleaned_data
        kept = act(form, lambda: practice_actions.pay(**said, by=request.user.id, today=now.today, at=now.at))
        if kept is not None:
            return redirect(request, "ledger:entry", number=kept.id)
    return page(
        request,
        "ledger/practice/page.html",
        due=owed.practice_due(),
        form=form,
        may_write=request.user.may(*WRITE),
        status=422 if form.errors else 200,
    )


@gate(read=READ, write=WRITE)
def partner_money(request: HttpRequest, party_key: str) -> HttpResponse:
    """Show what a partner owes by month of care and what it has left here, and record what happened with it."""
    now = present.read()
    form = PartnerMoneyForm(request.POST or None, initial={"on": now.today})
    if form.is_valid():
        said = {name: form.cleaned_data[name] for name in ("key", "amount_minor", "on", "words")}
        record = PARTNER[form.cleaned_data["what"]]
        kept = act(form, lambda: record(**said, party_key=party_key, by=request.user.id, today=now.today, at=now.at))
        if kept is not None:
            return redirect(request, "ledger:partner_money", party_key=party_key)
    return page(
        request,
        "ledger/partner_money/page.html",
        money=owed.party_money(party_key=party_key),
        form=form,
        may_write=request.user.may(*WRITE),
        status=422 if form.errors else 200,
    )
