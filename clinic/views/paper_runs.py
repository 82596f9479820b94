"""Runs of papers: starting one, watching it, canceling, retrying, its file for the printer, its letters."""

from datetime import timedelta

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_POST

from clinic.actions import mail_papers, run_papers
from clinic.actions import paper_runs as actions
from clinic.forms.papers import RunForm
from clinic.models import PaperRun, RunItem
from clinic.queries import paper_runs as queries
from clinic.queries import run_files
from clinic.views import present
from clinic.views.papers import READ, WRITE
from config import clock, mail
from config.access import gate
from config.acting import act
from config.render import file, page, part, redirect

A_WHILE = timedelta(seconds=4)  # how long a page works on a run before it shows how far it has come


@gate(read=READ, write=WRITE)
def paper_runs(request: HttpRequest) -> HttpResponse:
    now = present.read()
    last = now.today.replace(day=1) - timedelta(days=1)
    form = RunForm(request.POST or None, initial={"from_on": last.replace(day=1), "to_on": last})
    if form.is_valid():
        said = form.cleaned_data
        run = act(form, lambda: actions.start(**said, by=request.user, today=now.today, at=now.at))
        if run is not None:
            return redirect(request, "clinic:paper_run", run_id=run.pk)
    facts = {"runs": queries.paper_runs(), "form": form, "may_write": request.user.may(*WRITE)}
    return page(request, "clinic/paper_runs/page.html", status=422 if form.errors else 200, **facts)


@gate(read=READ)
def paper_run(request: HttpRequest, run_id: int) -> HttpResponse:
    run = queries.paper_run(run_id=run_id)
    if run is None:
        raise Http404
    return page(
        request,
        "clinic/paper_runs/run.html",
        run=run,
        may_write=request.user.may(*WRITE),
        into_files=mail.is_into_files(),
    )


@gate(write=WRITE)
@require_POST
def run_step(request: HttpRequest, run_id: int) -> HttpResponse:
    """Work on a run for a while; the page asks again until nothing waits."""
    run = get_object_or_404(PaperRun.objects.select_related("started_by"), pk=run_id)
    until = clock.real_now() + A_WHILE
    taken = run_papers.work(run=run, worker=f"page of {request.user.pk}", now=clock.real_now, until=until)
    facts = queries.paper_run(run_id=run_id)
    if request.htmx and facts and not facts.row.is_over:
        return part(request, "clinic/paper_runs/_progress.html", run=facts, may_write=True, idle=not taken)
    return redirect(request, "clinic:paper_run", run_id=run_id)


@gate(write=WRITE)
@require_POST
def run_cancel(request: HttpRequest, run_id: int) -> HttpResponse:
    return _done(request, run_id, lambda run: actions.cancel(run=run, at=present.read().at))


@gate(write=WRITE)
@require_POST
def run_retry(request: HttpRequest, run_id: int) -> HttpResponse:
    return _done(request, run_id, lambda run: actions.retry(run=run))


@gate(write=WRITE)
@require_POST
def run_mail(request: HttpRequest, run_id: int) -> HttpResponse:
    """Send the next letters, outside any transaction, since a mail server is asked."""
    run = get_object_or_404(PaperRun, pk=run_id)
    mail_papers.send(run=run, now=clock.real_now)
    return redirect(request, "clinic:paper_run", run_id=run_id)


@gate(write=WRITE)
@require_POST
def mail_decide(request: HttpRequest, item_id: int) -> HttpResponse:
    """Write down what a person knows of a letter: it arrived, it came back, send it again."""
    item = get_object_or_404(RunItem, pk=item_id)
    said = request.POST.get("said", "")
    act(forms.Form(), lambda: mail_papers.decide(item=item, said=said, at=clock.real_now()))
    return redirect(request, "clinic:paper_run", run_id=item.run_id)


@gate(read=READ)
def run_file(request: HttpRequest, run_id: int) -> HttpResponse:
    """Serve all papers of a run as one file for the printer."""
    content = run_files.merged(run=get_object_or_404(PaperRun, pk=run_id))
    if content is None:
        raise Http404
    return file(content, filename=f"run-{run_id}.pdf", content_type="application/pdf", inline=True)


def _done(request: HttpRequest, run_id: int, action) -> HttpResponse:
    run = get_object_or_404(PaperRun, pk=run_id)
    act(forms.Form(), lambda: action(run))
    return redirect(request, "clinic:paper_run", run_id=run_id)
