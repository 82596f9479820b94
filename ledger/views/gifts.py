"""Gifts of money and goods, and what giving sites pay out."""

from django.http import Http404, HttpRequest, HttpResponse

from config.access import gate
from config.acting import act
from config.exports import Sheet
from config.render import page, redirect, tables
from ledger.actions import gifts as actions
from ledger.actions import goods, payouts, returns
from ledger.forms.gifts import GiftForm, GoodsForm, PayoutForm, ReturnForm
from ledger.queries import donors, funds
from ledger.queries import gifts as queries
from ledger.views import present
from ledger.views.present import READ, WRITE


@gate(read=READ | WRITE)
def gifts(request: HttpRequest) -> HttpResponse:
    found = queries.gifts(after=request.GET.get("after", ""))
    return page(request, "ledger/gifts/page.html", gifts=found, may_write=request.user.may(*WRITE))


@gate(read=READ | WRITE)
def gift(request: HttpRequest, gift_id: int) -> HttpResponse:
    found = queries.gift(gift_id=gift_id)
    if found is None:
        raise Http404
    return page(request, "ledger/gift/page.html", gift=found, may_write=request.user.may(*WRITE))


@gate(read=READ | WRITE)
def gift_lines(request: HttpRequest, gift_id: int, kind: str) -> HttpResponse:
    """What a gift paid, line by line, and what is left, as a file."""
    found = queries.gift(gift_id=gift_id)
    if found is None:
        raise Http404
    sheet = Sheet(title=f"Gift {gift_id}", heads=queries.LINE_HEADS, rows=queries.gift_lines(found))
    return tables(sheet, filename=f"gift-{gift_id}", kind=kind)


@gate(write=WRITE)
def gift_return(request: HttpRequest, gift_id: int) -> HttpResponse:
    found, now = queries.gift(gift_id=gift_id), present.read()
    if found is None:
        raise Http404
    form = ReturnForm(request.POST or None)
    if form.is_valid():
        said = form.cleaned_data
        kept = act(
            form,
            lambda: returns.give_back(**said, gift_id=gift_id, by=request.user.id, today=now.today, at=now.at),
        )
        if kept is not None:
            return redirect(request, "ledger:gift", gift_id=gift_id)
    return page(request, "ledger/gift_return/page.html", form=form, gift=found, status=422 if form.errors else 200)


@gate(write=WRITE)
def gift_record(request: HttpRequest) -> HttpResponse:
    now = present.read()
    first = {name: request.GET[name] for name in ("donor_id", "fund_id") if name in request.GET}
    form = GiftForm(
        request.POST or None,
        donors=donors.choices(chosen=present.chosen(request, "donor_id")),
        funds=funds.open_for_gifts(),
        general=funds.general(),
        large_minor=queries.wants_a_fund_of_its_own(on=now.today),
        initial={"received_on": now.today, **first},
    )
    if form.is_valid():
        said = form.gift
        receive = actions.receive_apart if "apart_name" in said else actions.receive
        kept = act(form, lambda: receive(**said, by=request.user.id, today=now.today, at=now.at))
        if kept is not None:
            return redirect(request, "ledger:gift", gift_id=kept.id)
    return page(request, "ledger/gift_record/page.html", form=form, status=422 if form.errors else 200)


@gate(write=WRITE)
def goods_record(request: HttpRequest) -> HttpResponse:
    now = present.read()
    form = GoodsForm(
        request.POST or None,
        donors=donors.choices(chosen=present.chosen(request, "donor_id")),
        initial={"received_on": now.today, "donor_id": request.GET.get("donor_id")},
    )
    if form.is_valid():
        said = form.cleaned_data
        kept = act(form, lambda: goods.receive(**said, by=request.user.id, today=now.today, at=now.at))
        if kept is not None:
            return redirect(request, "ledger:gift", gift_id=kept.id)
    return page(request, "ledger/goods_record/page.html", form=form, status=422 if form.errors else 200)


@gate(write=WRITE)
def payout_record(request: HttpRequest) -> HttpResponse:
    now = present.read()
    form = PayoutForm(request.POST or None, funds=funds.open_for_gifts(), initial={"on": now.today})
    if form.is_valid():
        said = form.cleaned_data
        facts = {"key": said["key"], "on": said["on"], "by": request.user.id, "today": now.today, "at": now.at}
        if said["fund_id"] is None:
            kept = act(form, lambda: payouts.pay_out_all(**facts, amount_minor=said["amount_minor"]))
        else:
            amounts = {said["fund_id"]: said["amount_minor"]}
            kept = act(form, lambda: payouts.pay_out(**facts, amounts=amounts))
        if kept is not None:
            return redirect(request, "ledger:entry", number=kept.id)
    return page(request, "ledger/payout_record/page.html", form=form, status=422 if form.errors else 200)
