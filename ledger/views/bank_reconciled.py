"""The bank beside the books up to a day: read, signed, printed."""

from datetime import date

from django.http import Http404, HttpRequest, HttpResponse

from config import home, render
from config.access import gate
from config.acting import act
from config.render import page, redirect
from ledger.actions import bank_reconciled as actions
from ledger.forms.bank import SignForm, UntilForm
from ledger.forms.plain import PlainForm
from ledger.queries import bank_reconciled as queries
from ledger.queries import holder
from ledger.views import present
from ledger.views.present import READ, WRITE


@gate(read=READ, write=WRITE)
def bank_reconciled(request: HttpRequest) -> HttpResponse:
    """Show both sides on a day, and sign that they agree."""
    on = _day(request)
    found = queries.reconciled(on=on)
    begun = {"bank_minor": found.bank_minor, "books_minor": found.books_minor} if found else {}
    form, now = SignForm(request.POST or None, initial=begun), present.read()
    if found and form.is_valid():
        said = form.cleaned_data | {"on": found.on, "by": request.user.id, "at": now.at}
        if act(form, lambda: actions.sign(**said)) is not None:
            return redirect(request, f"{request.path}?on={found.on}")
    return page(
        request,
        "ledger/bank_reconciled/page.html",
        both=found,
        last=queries.last_signed(),
        until=UntilForm(initial={"on": found.on} if found else None),
        form=form,
        may_write=request.user.may(*WRITE),
        status=422 if form.errors else 200,
    )


@gate(write=WRITE)
def bank_take_back(request: HttpRequest) -> HttpResponse:
    """Take back what was signed last, by name."""
    last, form = queries.last_signed(), PlainForm(request.POST or None)
    if last and form.is_valid():
        act(form, lambda: actions.take_back(on=last.on, by=request.user.id))
    return redirect(request, "ledger:bank_reconciled")


@gate(read=READ | WRITE)
def bank_paper(request: HttpRequest) -> HttpResponse:
    found, books = queries.reconciled(on=_day(request)), holder.holder()
    if found is None or books is None:
        raise Http404
    return render.pdf(
        "ledger/bank_reconciled/print.html",
        filename=f"bank-{found.on}-entry-{found.as_of}.pdf",
        both=found,
        holder=books,
        paper_size=home.paper_of(books.country),
    )


def _day(request: HttpRequest) -> date | None:
    form = UntilForm(request.GET if "on" in request.GET else None)
    return form.cleaned_data["on"] if form.is_valid() else None
