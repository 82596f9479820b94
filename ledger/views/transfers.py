"""Moving money between funds that nobody restricted."""

from django.http import HttpRequest, HttpResponse

from config.access import gate
from config.acting import act
from config.render import page, redirect
from ledger.actions import transfers as actions
from ledger.forms.transfers import TransferForm
from ledger.queries import fund_choices
from ledger.views import present
from ledger.views.present import WRITE


@gate(write=WRITE)
def transfer_record(request: HttpRequest) -> HttpResponse:
    now = present.read()
    first = {"from_fund_id": request.GET["from"]} if "from" in request.GET else {}
    form = TransferForm(request.POST or None, funds=fund_choices.open_funds(), initial={"on": now.today, **first})
    if form.is_valid():
        said = form.cleaned_data
        kept = act(form, lambda: actions.transfer(**said, by=request.user.id, today=now.today, at=now.at))
        if kept is not None:
            return redirect(request, "ledger:entry", number=kept.id)
    return page(request, "ledger/transfer_record/page.html", form=form, status=422 if form.errors else 200)
