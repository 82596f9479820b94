"""One entry with its story, and taking back what was typed wrong."""

from django.http import Http404, HttpRequest, HttpResponse

from config import uploads
from config.access import gate
from config.acting import act
from config.render import file as answer_file
from config.render import page, redirect
from ledger.actions import reversals
from ledger.actions import scans as scan_actions
from ledger.forms.gifts import TakeBackForm
from ledger.forms.scans import ScanForm
from ledger.queries import scans as scan_queries
from ledger.queries.entry_story import EntryStory, entry_story
from ledger.views import present
from ledger.views.present import READ, WRITE


@gate(read=READ | WRITE)
def entry(request: HttpRequest, number: int) -> HttpResponse:
    return page(
        request,
        "ledger/entry/page.html",
        entry=_found(number),
        scans=scan_queries.scans(number=number),
        may_write=request.user.may(*WRITE),
    )


@gate(write=WRITE)
def scan_add(request: HttpRequest, number: int) -> HttpResponse:
    """Hang the paper behind an entry on it."""
    found, now = _found(number), present.read()
    form = ScanForm(request.POST or None, request.FILES or None)
    if form.is_valid():
        said = dict(form.cleaned_data)
        paper = uploads.taken(form, said.pop("file"))
        if paper and act(
            form, lambda: scan_actions.hang(**said, file=paper, number=number, by=request.user.id, at=now.at)
        ):
            return redirect(request, "ledger:entry", number=number)
    return page(request, "ledger/scan_add/page.html", form=form, entry=found, status=422 if form.errors else 200)


@gate(read=READ | WRITE)
def scan(request: HttpRequest, scan_id: int) -> HttpResponse:
    found = scan_queries.scan(scan_id=scan_id)
    content = uploads.read(sha256=found.sha256, content_type=found.content_type) if found else None
    if found is None or content is None:
        raise Http404
    ending = uploads.ENDINGS[found.content_type]
    return answer_file(
        content, filename=f"scan-{scan_id}.{ending}", content_type=found.content_type, inline=ending != "pdf"
    )


@gate(write=WRITE)
def entry_take_back(request: HttpRequest, number: int) -> HttpResponse:
    found, now = _found(number), present.read()
    form = TakeBackForm(request.POST or None)
    if form.is_valid():
        said = form.cleaned_data
        kept = act(
            form,
            lambda: reversals.take_back(**said, number=number, by=request.user.id, today=now.today, at=now.at),
        )
        if kept is not None:
            return redirect(request, "ledger:entry", number=kept.id)
    return page(request, "ledger/entry_take_back/page.html", form=form, entry=found, status=422 if form.errors else 200)


def _found(number: int) -> EntryStory:
    found = entry_story(number=number)
    if found is None:
        raise Http404
    return found
