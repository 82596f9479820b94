"""Funds: the list, one fund, opening and closing, opening balances."""

from django.http import Http404, HttpRequest, HttpResponse

from config.access import gate
from config.acting import act
from config.fields import PeriodForm
from config.render import page, redirect
from ledger.actions import funds as actions
from ledger.actions import opening as opening_actions
from ledger.forms.funds import FundForm
from ledger.forms.gifts import OpeningForm
from ledger.forms.plain import PlainForm
from ledger.queries import donors, fund_page, traits_seen
from ledger.queries import funds as queries
from ledger.queries import opening as opening_queries
from ledger.views import present
from ledger.views.present import READ, WRITE


@gate(read=READ | WRITE)
def funds(request: HttpRequest) -> HttpResponse:
    found = queries.funds(with_closed=request.GET.get("closed") == "all")
    return page(request, "ledger/funds/page.html", funds=found, may_write=request.user.may(*WRITE))


@gate(read=READ | WRITE)
def fund(request: HttpRequest, fund_id: int) -> HttpResponse:
    today = present.read().today
    first = fund_page.first_day(fund_id=fund_id, today=today) or today
    form = PeriodForm(request.GET, first=first, last=today)
    valid = form.is_valid()
    facts = fund_page.fund_page(
        fund_id=fund_id,
        from_on=form.cleaned_data["from_on"] if valid else first,
        to_on=form.cleaned_data["to_on"] if valid else today,
        today=today,
        after=request.GET.get("after", ""),
    )
    if facts is None:
        raise Http404
    return page(
        request,
        "ledger/fund/page.html",
        status=422 if form.errors else 200,
        page=facts,
        form=form,
        may_write=request.user.may(*WRITE),
    )


@gate(write=WRITE)
def fund_open(request: HttpRequest) -> HttpResponse:
    """Open a fund; the page of an animal or a partner brings its key, kind and a name along."""
    now = present.read()
    asked = request.POST if request.method == "POST" else request.GET
    subject_key, party_key = asked.get("subject_key", "")[:40], asked.get("party_key", "")[:40]
    kind = "animal" if subject_key else "partner" if party_key else ""
    form = FundForm(
        request.POST or None,
        kind=kind,
        traits=traits_seen.traits_seen(),
        funds=queries.open_for_gifts(),
        initial={
            "on": now.today,
            "name": request.GET.get("name", "")[:80],
            "subject_key": subject_key,
            "party_key": party_key,
            "is_restricted": kind == "animal",
        },
    )
    if form.is_valid():
        said = dict(form.cleaned_data)
        purpose = said.pop("traits", [])
        opened = act(form, lambda: actions.open(**said, purpose=purpose, by=request.user.id))
        if opened is not None:
            return redirect(request, "ledger:fund", fund_id=opened.id)
    return page(request, "ledger/fund_open/page.html", form=form, status=422 if form.errors else 200)


@gate(write=WRITE)
def fund_close(request: HttpRequest, fund_id: int) -> HttpResponse:
    form = PlainForm(request.POST or None)
    if form.is_valid():
        closed = act(form, lambda: actions.close(fund_id=fund_id, on=present.read().today))
        if closed is not None:
            return redirect(request, "ledger:fund", fund_id=fund_id)
    line = next((line for line in queries.fund_lines(id=fund_id)), None)
    if line is None:
        raise Http404
    return page(request, "ledger/fund_close/page.html", form=form, fund=line, status=422 if form.errors else 200)


@gate(read=READ, write=WRITE)
def opening(request: HttpRequest) -> HttpResponse:
    now = present.read()
    form = OpeningForm(
        request.POST or None,
        funds=queries.open_for_gifts(),
        donors=donors.choices(chosen=present.chosen(request, "donor_id")),
        initial={"on": now.today},
    )
    if form.is_valid():
        said = form.cleaned_data
        kept = act(form, lambda: opening_actions.balance(**said, by=request.user.id, today=now.today, at=now.at))
        if kept is not None:
            return redirect(request, "ledger:opening")
    return page(
        request,
        "ledger/opening/page.html",
        opening=opening_queries.opening(),
        form=form,
        may_write=request.user.may(*WRITE),
        status=422 if form.errors else 200,
    )
