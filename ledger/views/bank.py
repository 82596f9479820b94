"""The bank: what is left over, confirmed by a person, line by line or all the certain ones."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from config import figures
from config.access import gate
from config.acting import act
from config.render import page, redirect
from ledger.actions import bank_matches as actions
from ledger.actions.bank_matches import Hand
from ledger.forms.bank import BankLineForm, PickForm
from ledger.forms.plain import PlainForm
from ledger.models import BankAccount, BankLine, BankRule
from ledger.queries import bank_page as queries
from ledger.queries import bank_reconciled, fund_choices
from ledger.queries.bank_open import OpenLine
from ledger.views import present
from ledger.views.present import READ, WRITE


@gate(read=READ, write=WRITE)
def bank(request: HttpRequest) -> HttpResponse:
    """Show what waits, and record what of the proposals was confirmed."""
    form = PlainForm(request.POST or None)
    chosen = _tokens(request)
    if form.is_valid():
        if chosen and act(form, lambda: actions.confirm(tokens=chosen, hand=_hand(request))) is not None:
            return redirect(request, "ledger:bank")
        if not chosen:
            form.add_error(None, "No line was chosen. Nothing was recorded.")
    return page(
        request,
        "ledger/bank/page.html",
        bank=queries.bank_page(today=present.read().today),
        both=bank_reconciled.reconciled(),
        last=bank_reconciled.last_signed(),
        form=form,
        may_write=request.user.may(*WRITE),
        status=422 if form.errors else 200,
    )


@gate(read=READ | WRITE)
def bank_account(request: HttpRequest, bank_account_id: int) -> HttpResponse:
    account = get_object_or_404(BankAccount, pk=bank_account_id)
    asked = request.GET.get("before", "")
    found = queries.account_page(account=account, before=figures.row_number(asked))
    return page(request, "ledger/bank_account/page.html", found=found)


@gate(read=READ, write=WRITE)
def bank_line(request: HttpRequest, bank_line_id: int) -> HttpResponse:
    """Show what stands for a line; where nothing does, match it with entries, or say what it is."""
    row = get_object_or_404(BankLine, pk=bank_line_id)
    line, match = queries.one_line(row), queries.match_of(row)
    entries = () if match else queries.nearest(line)
    picks = "pick" in request.POST
    picked = PickForm(request.POST if picks else None, numbers=[one.number for one in entries])
    form = _what(request, line, picks)
    if picked.is_valid():
        said = {"key": picked.cleaned_data["key"], "numbers": picked.cleaned_data["entry"]}
        if act(picked, lambda: actions.match(line_ids=[row.id], hand=_hand(request), **said)) is not None:
            return redirect(request, "ledger:bank")
    elif form.is_valid() and act(form, lambda: actions.record(line=row, hand=_hand(request), **form.said)) is not None:
        return redirect(request, "ledger:bank")
    return page(
        request,
        "ledger/bank_line/page.html",
        line=line,
        match=match,
        proposal=None if match else queries.proposal_for(row, today=present.read().today),
        entries=entries,
        form=picked if picks else form,
        what=form,
        picked=picked,
        may_write=request.user.may(*WRITE),
        status=422 if form.errors or picked.errors else 200,
    )


def _what(request: HttpRequest, line: OpenLine, picks: bool) -> BankLineForm:
    funds = [(choice.id, choice.name) for choice in fund_choices.fund_choices()]
    facts = {"came_in": line.amount_minor > 0, "funds": funds, "partners": queries.partners()}
    return BankLineForm(None if picks else request.POST or None, **facts)


@gate(write=WRITE)
def bank_undo(request: HttpRequest, bank_line_id: int) -> HttpResponse:
    """Undo what stands for a line, by name."""
    row, form = get_object_or_404(BankLine, pk=bank_line_id), PlainForm(request.POST or None)
    if form.is_valid() and act(form, lambda: actions.undo(line=row, hand=_hand(request))) is not None:
        return redirect(request, "ledger:bank_line", bank_line_id=bank_line_id)
    return page(
        request,
        "ledger/bank_undo/page.html",
        line=queries.one_line(row),
        match=queries.match_of(row),
        form=form,
        status=422 if form.errors else 200,
    )


@gate(write=WRITE)
def bank_rule_end(request: HttpRequest, rule_id: int) -> HttpResponse:
    rule, form = get_object_or_404(BankRule, pk=rule_id), PlainForm(request.POST or None)
    if form.is_valid():
        act(form, lambda: actions.end_rule(rule=rule, by=request.user.id) or True)
    return redirect(request, "ledger:bank")


def _tokens(request: HttpRequest) -> dict[int, str]:
    """What was ticked: the line's number and what was proposed for it, as "17:ab12"."""
    found = (one.partition(":") for one in request.POST.getlist("confirm"))
    said = ((figures.row_number(line), token) for line, _, token in found)
    return {line: token for line, token in said if line is not None}


def _hand(request: HttpRequest) -> Hand:
    now = present.read()
    return Hand(by=request.user.id, today=now.today, at=now.at)
