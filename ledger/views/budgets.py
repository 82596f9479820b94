"""What a fund's money is meant for: its dates and its budget lines."""

from django.http import Http404, HttpRequest, HttpResponse

from config.access import gate
from config.acting import act
from config.render import page, redirect
from ledger.actions import budgets as actions
from ledger.forms.budgets import BudgetForm, DatesForm, EndLineForm
from ledger.queries import budgets as queries
from ledger.queries import funds
from ledger.queries.funds import FundLine
from ledger.views import present
from ledger.views.present import READ, WRITE


@gate(read=READ, write=WRITE)
def budget(request: HttpRequest, fund_id: int) -> HttpResponse:
    """Show a fund's plan, and add a line to it."""
    _fund(fund_id)
    form = BudgetForm(request.POST or None)
    if form.is_valid():
        said, today = dict(form.cleaned_data), present.read().today
        care = said.pop("care")
        kept = act(form, lambda: actions.add(**said, matches=care, fund_id=fund_id, on=today, by=request.user.id))
        if kept is not None:
            return redirect(request, "ledger:budget", fund_id=fund_id)
    return _page(request, fund_id, form=form)


@gate(write=WRITE)
def budget_dates(request: HttpRequest, fund_id: int) -> HttpResponse:
    _fund(fund_id)
    dates = DatesForm(request.POST or None)
    if request.method == "POST" and dates.is_valid():
        kept = act(dates, lambda: actions.set_dates(fund_id=fund_id, **dates.cleaned_data))
        if kept is not None:
            return redirect(request, "ledger:budget", fund_id=fund_id)
    return _page(request, fund_id, dates=dates if request.method == "POST" else None)


@gate(write=WRITE)
def budget_end(request: HttpRequest, fund_id: int) -> HttpResponse:
    form = EndLineForm(request.POST or None)
    if form.is_valid():
        today = present.read().today
        act(form, lambda: actions.end(line_id=form.cleaned_data["line_id"], fund_id=fund_id, on=today))
        return redirect(request, "ledger:budget", fund_id=fund_id)
    return _page(request, fund_id)


def _fund(fund_id: int) -> FundLine:
    """Return the fund, before anything is written for one that is not there."""
    fund = next(iter(funds.fund_lines(id=fund_id)), None)
    if fund is None:
        raise Http404
    return fund


def _page(
    request: HttpRequest, fund_id: int, *, form: BudgetForm | None = None, dates: DatesForm | None = None
) -> HttpResponse:
    fund = _fund(fund_id)
    found = queries.budget(fund_id=fund_id)
    wrong = (form and form.errors) or (dates and dates.errors)
    return page(
        request,
        "ledger/budget/page.html",
        fund=fund,
        budget=found,
        form=form or BudgetForm(),
        dates=dates or DatesForm(initial={"use_by": found.use_by, "report_on": found.report_on}),
        may_write=request.user.may(*WRITE),
        status=422 if wrong else 200,
    )
