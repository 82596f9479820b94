"""Moving money between funds that nobody restricted."""

from django.http import HttpRequest, HttpResponse

from config.access import gate
from config.acting import act
from config.render import page, redirect
from ledger.actions import transfers as actions
from ledger.forms.transfers import TransferForm
from ledger.queries import funds, in_and_out
from ledger.views import present
from ledger.views.present import READ, WRITE


@gate(read=READ | WRITE)
def in_and_out_page(request: HttpRequest) -> HttpResponse:
    """Show every way in which money comes and goes, with what waits at each."""
    return page(
        request, "ledger/in_and_out/page.html", money=in_and_out.in_and_out(), may_write=request.user.may(*WRITE)
    )


@gate(write=WRITE)
def transfer_record(request: HttpRequest) -> HttpResponse:
    now = present.read()
    first = {"from_fund_id": request.GET["from"]} if "from" in request.GET else {}
    form = TransferForm(request.POST or None, funds=funds.open_for_gifts(), initial={"on": now.today, **first})
    if form.is_valid():
        said = form.cleaned_data
        kept = act(form, lambda: actions.transfer(**said, by=request.user.id, today=now.today, at=now.at))
        if kept is not None:
            return redirect(request, "ledger:entry", number=kept.id)
    return page(request, "ledger/transfer_record/page.html", form=form, status=422 if form.errors else 200)
