"""Bills: the list, one at the animal, checking and paying it, and its paper."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from clinic.actions import bills as actions
from clinic.forms.bills import BillForm, CheckForm, PayForm
from clinic.models import Animal, Bill
from clinic.queries import bills as queries
from clinic.views import present
from config import uploads
from config.access import gate
from config.acting import act
from config.render import file as answer_file
from config.render import page, redirect
from config.roles import CARE, MONEY, Role

WRITE = frozenset({Role.BOOKKEEPER, Role.MANAGER})


@gate(read=MONEY)
def bills(request: HttpRequest) -> HttpResponse:
    return page(request, "clinic/bills/page.html", bills=queries.bills(), may_write=request.user.may(*WRITE))


@gate(write=CARE | {Role.BOOKKEEPER})
def bill_add(request: HttpRequest, animal_id: int) -> HttpResponse:
    """Keep a paper that somebody photographs at the animal."""
    found, now = get_object_or_404(Animal, pk=animal_id), present.read()
    form = BillForm(request.POST or None, request.FILES or None, initial={"care_on": now.ward})
    if form.is_valid():
        said = dict(form.cleaned_data)
        paper = uploads.taken(form, said.pop("file"))
        if paper and _added(form, {**said, "file": paper, "animal": found}, request, now):
            return redirect(request, "clinic:animal", animal_id=animal_id)
    return page(request, "clinic/bills/add.html", animal=found, form=form, status=422 if form.errors else 200)


def _added(form: BillForm, said: dict, request: HttpRequest, now: present.Present) -> Bill | None:
    return act(form, lambda: actions.add(**said, by=request.user, today=now.ward, at=now.at))


@gate(read=MONEY, write=WRITE)
def bill(request: HttpRequest, bill_id: int) -> HttpResponse:
    """Show a bill, and enter its amount once it was checked."""
    kept, now = get_object_or_404(Bill, pk=bill_id), present.read()
    form = CheckForm(request.POST or None, initial={"care_on": kept.care_on})
    if form.is_valid():
        said = dict(form.cleaned_data)
        check = actions.accept if said.pop("outcome") == "accept" else actions.give
        done = act(form, lambda: check(**said, bill=kept, by=request.user, today=now.today, at=now.at))
        if done is not None:
            return redirect(request, "clinic:bill", bill_id=bill_id)
    return _page(request, bill_id, form=form, pay=PayForm(initial={"on": now.today}))


@gate(write=WRITE)
def bill_pay(request: HttpRequest, bill_id: int) -> HttpResponse:
    kept, now = get_object_or_404(Bill, pk=bill_id), present.read()
    pay = PayForm(request.POST or None, initial={"on": now.today})
    if pay.is_valid():
        said = pay.cleaned_data
        done = act(pay, lambda: actions.pay(**said, bill=kept, by=request.user, today=now.today, at=now.at))
        if done is not None:
            return redirect(request, "clinic:bill", bill_id=bill_id)
    return _page(request, bill_id, form=CheckForm(initial={"care_on": kept.care_on}), pay=pay)


@gate(read=MONEY)
def bill_file(request: HttpRequest, bill_id: int) -> HttpResponse:
    """Serve the paper; the ward, which never sees an amount, has no door to it."""
    kept = get_object_or_404(Bill, pk=bill_id)
    content = uploads.read(sha256=kept.sha256, content_type=kept.content_type)
    if content is None:
        raise Http404
    ending = uploads.ENDINGS[kept.content_type]
    return answer_file(
        content, filename=f"bill-{kept.pk}.{ending}", content_type=kept.content_type, inline=ending != "pdf"
    )


def _page(request: HttpRequest, bill_id: int, *, form: CheckForm, pay: PayForm) -> HttpResponse:
    return page(
        request,
        "clinic/bills/bill.html",
        bill=queries.bill(bill_id=bill_id),
        form=form,
        pay=pay,
        may_write=request.user.may(*WRITE),
        status=422 if form.errors or pay.errors else 200,
    )
