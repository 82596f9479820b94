"""Gifts that wait: the list, recording one, leaving one out."""

from django.http import Http404, HttpRequest, HttpResponse

from config.access import gate
from config.acting import act
from config.render import page, redirect
from ledger.actions import waiting_gifts as actions
from ledger.forms.gift_files import LateForm, LeaveOutForm
from ledger.queries import waiting_gifts as queries
from ledger.queries.waiting_gifts import WaitingLine
from ledger.views import present
from ledger.views.present import READ, WRITE


@gate(read=READ | WRITE)
def waiting_gifts(request: HttpRequest) -> HttpResponse:
    return page(
        request,
        "ledger/waiting_gifts/page.html",
        lines=queries.waiting_gifts(today=present.read().today),
        left_out=queries.left_out(),
        may_write=request.user.may(*WRITE),
    )


@gate(write=WRITE)
def waiting_gift_record(request: HttpRequest, waiting_id: int) -> HttpResponse:
    """Record it on its day, or, where that period is closed, today with its day received."""
    now, line, form = present.read(), _line(waiting_id), LateForm(request.POST or None)
    if form.is_valid():
        said = {"waiting_id": waiting_id, "late": form.cleaned_data["late"]}
        kept = act(form, lambda: actions.record(**said, by=request.user.id, today=now.today, at=now.at) or True)
        if kept:
            return redirect(request, "ledger:waiting_gifts")
    status = 422 if form.errors else 200
    return page(request, "ledger/waiting_gift_record/page.html", line=line, form=form, today=now.today, status=status)


@gate(write=WRITE)
def waiting_gift_leave_out(request: HttpRequest, waiting_id: int) -> HttpResponse:
    now, line, form = present.read(), _line(waiting_id), LeaveOutForm(request.POST or None)
    if form.is_valid():
        said = {"waiting_id": waiting_id, "why": form.cleaned_data["why"]}
        if act(form, lambda: actions.leave_out(**said, by=request.user.id, today=now.today)) is not None:
            return redirect(request, "ledger:waiting_gifts")
    status = 422 if form.errors else 200
    return page(request, "ledger/waiting_gift_leave_out/page.html", line=line, form=form, status=status)


def _line(waiting_id: int) -> WaitingLine:
    line = queries.waiting_gift(waiting_id=waiting_id, today=present.read().today)
    if line is None:
        raise Http404
    return line
