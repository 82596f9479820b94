"""Reports of a period as of an entry, on screen and as files; the accountant's codes; who approved the prices."""

from datetime import date, timedelta

from django.http import Http404, HttpRequest, HttpResponse

from config import render
from config.access import gate
from config.acting import act
from config.days import month_after
from config.render import page, redirect
from ledger.actions import accounts as account_actions
from ledger.actions import price_approvals
from ledger.forms.reports import AccountCodesForm, ApprovalForm, ReportForm
from ledger.formulas.fiscal_years import words_of, year_of
from ledger.queries import accounts as account_queries
from ledger.queries import activity as activity_query
from ledger.queries import functional_expenses as functional_query
from ledger.queries import holder, report_index, report_tables
from ledger.queries import journal as journal_query
from ledger.queries import related_party as related_query
from ledger.queries import reports as queries
from ledger.queries import roll_forward as roll_query
from ledger.queries import trial_balance as balance_query
from ledger.queries.reports import Scope
from ledger.views import present
from ledger.views.present import READ, WRITE


@gate(read=READ | WRITE)
def reports(request: HttpRequest) -> HttpResponse:
    today = present.read().today
    year = _year(today)
    periods = (
        (today.replace(day=1), today),
        _month(today.replace(day=1) - timedelta(days=1)),
        (year[0], today),
        _year(year[0] - timedelta(days=1)),
    )
    return page(request, "ledger/reports/page.html", rows=report_index.report_index(periods=periods))


@gate(read=READ | WRITE)
def roll_forward(request: HttpRequest) -> HttpResponse:
    form, scope = _asked(request)
    return _page(request, "roll_forward", form, scope, roll=roll_query.roll_forward(scope=scope))


@gate(read=READ | WRITE)
def trial_balance(request: HttpRequest) -> HttpResponse:
    form, scope = _asked(request)
    return _page(request, "trial_balance", form, scope, balance=balance_query.trial_balance(scope=scope))


@gate(read=READ | WRITE)
def activity(request: HttpRequest) -> HttpResponse:
    form, scope = _asked(request)
    return _page(request, "activity", form, scope, activity=activity_query.activity(scope=scope))


@gate(read=READ | WRITE)
def functional_expenses(request: HttpRequest) -> HttpResponse:
    form, scope = _asked(request)
    return _page(request, "functional_expenses", form, scope, found=functional_query.functional_expenses(scope=scope))


@gate(read=READ | WRITE)
def journal(request: HttpRequest) -> HttpResponse:
    form, scope = _asked(request)
    found = journal_query.journal(scope=scope, after=request.GET.get("after", ""))
    return _page(request, "journal", form, scope, journal=found)


@gate(read=READ, write=WRITE)
def related_party(request: HttpRequest) -> HttpResponse:
    """Show a fiscal year, and record who outside the practice approved the prices."""
    now = present.read()
    form, scope = _asked(request, yearly=True)
    approval = ApprovalForm(request.POST or None, initial={"approved_on": now.today})
    if approval.is_valid():
        said = approval.cleaned_data
        kept = act(
            approval,
            lambda: price_approvals.approve(**said, by=request.user.id, today=now.today, at=now.at),
        )
        if kept is not None:
            return redirect(request, "ledger:related_party")
    return _page(
        request,
        "related_party",
        form,
        scope,
        related=related_query.related_party(scope=scope),
        approval=approval,
        year=words_of(scope.from_on, scope.to_on),
        may_write=request.user.may(*WRITE),
        status=422 if approval.errors else 200,
    )


@gate(read=READ | WRITE)
def report_file(request: HttpRequest, report: str, kind: str) -> HttpResponse:
    _, scope = _asked(request, yearly=report == "related-party")
    table = report_tables.table(report=report, scope=scope)
    if table is None:
        raise Http404
    name = f"{report}-{scope.from_on}-{scope.to_on}-entry-{scope.as_of}"
    return render.tables(table, filename=name, kind=kind)


@gate(read=READ | WRITE)
def report_paper(request: HttpRequest, report: str) -> HttpResponse:
    _, scope = _asked(request, yearly=report == "related-party")
    found = report_tables.paper(report=report, scope=scope)
    if found is None:
        raise Http404
    return render.pdf(
        "ledger/reports/print.html",
        filename=f"{report}-{scope.from_on}-{scope.to_on}-entry-{scope.as_of}.pdf",
        paper=found,
        paper_size=found.size,
    )


@gate(read=READ, write=WRITE)
def accounts(request: HttpRequest) -> HttpResponse:
    found = account_queries.accounts()
    form = AccountCodesForm(request.POST or None, accounts=found)
    if request.method == "POST" and form.is_valid():
        kept = act(form, lambda: account_actions.set_codes(codes=form.cleaned_data))
        if kept is not None:
            return redirect(request, "ledger:accounts")
    return page(
        request,
        "ledger/accounts/page.html",
        accounts=found,
        form=form,
        may_write=request.user.may(*WRITE),
        status=422 if form.errors else 200,
    )


def _page(request: HttpRequest, name: str, form: ReportForm, scope: Scope, **facts: object) -> HttpResponse:
    status = facts.pop("status", 200)
    return page(
        request,
        f"ledger/{name}/page.html",
        form=form,
        scope=scope,
        report=name.replace("_", "-"),
        status=422 if form.errors else status,
        **facts,
    )


def _asked(request: HttpRequest, *, yearly: bool = False) -> tuple[ReportForm, Scope]:
    """Read the period and the entry; by default this month so far, or the fiscal year."""
    today = present.read().today
    first, last = _year(today) if yearly else (today.replace(day=1), today)
    form = ReportForm(request.GET, first=first, last=last)
    if form.is_valid():
        return form, queries.scope(**form.cleaned_data)
    return form, queries.scope(from_on=first, to_on=last)


def _month(on: date) -> tuple[date, date]:
    following = month_after(on)
    return on.replace(day=1), following - timedelta(days=1)


def _year(on: date) -> tuple[date, date]:
    facts = holder.holder()
    return year_of(on, starts=facts.fiscal_year_starts if facts else 1)
