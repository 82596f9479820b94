"""A month's end: what is open, carrying it by name, closing, the closing report, and reopening."""

from datetime import date

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse

from clinic.forms.month_end import CarryForm, CloseForm, ReopenForm, ThroughForm
from clinic.queries import closing_report as report_query
from clinic.queries import month_end as query
from clinic.views import present
from config import render
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import Role
from ledger.actions import carrying, periods

READ = {Role.VET, Role.READER}
WRITE = {Role.BOOKKEEPER, Role.MANAGER}


@gate(read=READ | WRITE)
def month_end(request: HttpRequest) -> HttpResponse:
    """Show the month to close next; `through_on` asks for another last day."""
    return _page(request, through_on=_asked(request))


@gate(write=WRITE)
def month_carry(request: HttpRequest, on: date) -> HttpResponse:
    now = present.read()
    month = query.month_end(today=now.today, house=now.house, through_on=on)
    if month is None:
        raise Http404
    form = CarryForm(request.POST or None, things=month.choices)
    if form.is_valid():
        said = form.cleaned_data
        kept = act(form, lambda: carrying.carry(**said, through_on=on, by=request.user.pk, today=now.today, at=now.at))
        if kept is not None:
            return redirect(request, f"{reverse('clinic:month_end')}?through_on={on}")
    return _page(request, through_on=on, carry=form)


@gate(write=WRITE)
def month_close(request: HttpRequest) -> HttpResponse:
    now = present.read()
    form = CloseForm(request.POST or None)
    if form.is_valid():
        said = form.cleaned_data
        month = query.month_end(today=now.today, house=now.house, through_on=said["through_on"])
        note = month.not_ready if month else ""
        entry = act(form, lambda: periods.close(**said, note=note, by=request.user.pk, today=now.today, at=now.at))
        if entry is not None:
            return redirect(request, "clinic:closing", number=entry.id)
    return _page(request, through_on=_asked(request), close=form)


@gate(write=WRITE)
def month_reopen(request: HttpRequest) -> HttpResponse:
    now = present.read()
    form = ReopenForm(request.POST or None)
    if form.is_valid():
        said = form.cleaned_data
        kept = act(form, lambda: periods.reopen(**said, by=request.user.pk, today=now.today, at=now.at))
        if kept is not None:
            return redirect(request, "clinic:month_end")
    month = query.month_end(today=now.today, house=now.house)
    return page(request, "clinic/month_end/reopen.html", month=month, form=form, status=422 if form.errors else 200)


@gate(read=READ | WRITE)
def closing(request: HttpRequest, number: int) -> HttpResponse:
    return page(request, "clinic/month_end/closing.html", report=_report(number), may_write=request.user.may(*WRITE))


@gate(read=READ | WRITE)
def closing_pdf(request: HttpRequest, number: int) -> HttpResponse:
    report = _report(number)
    return render.pdf(
        "clinic/month_end/print.html",
        filename=f"closing-{report.closing.through_on}.pdf",
        report=report,
        paper_size=report.paper,
    )


def _report(number: int) -> report_query.ClosingReport:
    found = report_query.closing_report(number=number, house=present.read().house)
    if found is None:
        raise Http404
    return found


def _asked(request: HttpRequest) -> date | None:
    form = ThroughForm(request.GET)
    return form.cleaned_data["through_on"] if form.is_valid() else None


def _page(
    request: HttpRequest, *, through_on: date | None, carry: CarryForm | None = None, close: CloseForm | None = None
) -> HttpResponse:
    now = present.read()
    month = query.month_end(today=now.today, house=now.house, through_on=through_on)
    wrong = (carry and carry.errors) or (close and close.errors)
    return page(
        request,
        "clinic/month_end/page.html",
        month=month,
        form=carry if carry and carry.errors else close,
        carry=carry or CarryForm(things=month.choices if month else ()),
        close=close or CloseForm(initial={"through_on": month.through_on if month else None}),
        may_write=request.user.may(*WRITE),
        may_decide=request.user.may(Role.MANAGER),
        status=422 if wrong else 200,
    )
