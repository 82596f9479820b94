"""Gift files: bringing one, reading it, and recording its gifts."""

from typing import Any

from django.db import transaction
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from config import tables
from config.access import gate
from config.acting import act
from config.refusal import Refusal
from config.render import page, redirect
from ledger.actions import gift_files as actions
from ledger.actions import waiting_gifts
from ledger.forms.gift_files import ASKED, RULE, ColumnsForm, GiftFileForm
from ledger.forms.plain import PlainForm
from ledger.models import GiftFile
from ledger.queries import fund_choices
from ledger.queries import gift_files as queries
from ledger.queries import waiting_gifts as waiting_queries
from ledger.views import present
from ledger.views.present import READ, WRITE

SHOWN = 100


@gate(read=READ, write=WRITE)
def gift_files(request: HttpRequest) -> HttpResponse:
    now = present.read()
    form = GiftFileForm(request.POST or None, request.FILES or None)
    if form.is_valid():
        said, upload = form.cleaned_data, form.cleaned_data["file"]
        content = upload.read(tables.MOST_BYTES + 1)
        facts = {"key": said["key"], "source": said["source"], "content": content, "name": upload.name}
        kept = act(form, lambda: actions.bring(**facts, by=request.user.id, at=now.at))
        if kept is not None:
            return redirect(request, "ledger:gift_file", file_id=kept.id)
    return page(
        request,
        "ledger/gift_files/page.html",
        files=queries.files(),
        sources=queries.source_names(),
        waiting=waiting_queries.count(),
        form=form,
        may_write=request.user.may(*WRITE),
        status=422 if form.errors else 200,
    )


@gate(read=READ, write=WRITE)
def gift_file(request: HttpRequest, file_id: int) -> HttpResponse:
    """Say what the columns hold, and see what each row would become."""
    file = _file(file_id)
    table = queries.table_of(file)
    form = ColumnsForm(request.POST or None, **_columns(file, table))
    if form.is_valid() and act(form, lambda: actions.say(source=file.source, **form.said)) is not None:
        return redirect(request, "ledger:gift_file", file_id=file_id)
    return _page(request, file, table, form, refused=form)


@gate(write=WRITE)
def gift_file_record(request: HttpRequest, file_id: int) -> HttpResponse:
    """Record what stands; what cannot stand waits, and only where somebody said so."""
    file, now, form = _file(file_id), present.read(), PlainForm(request.POST or None)
    table = queries.table_of(file)
    found = queries.preview(file=file, table=table, today=now.today)
    if request.method == "POST" and not (found.wrong and "keep-good" not in request.POST):
        said = {"by": request.user.id, "today": now.today, "at": now.at}
        try:
            with transaction.atomic(durable=True):
                waiting_gifts.keep(file=file, wrong=found.wrong, by=request.user.id, on=now.today)
            actions.record_in_batches(source=file.source, rows=found.new, **said)
        except Refusal as refused:
            form.add_error(None, str(refused))
            return _page(request, file, table, ColumnsForm(**_columns(file, table)), refused=form)
    return redirect(request, "ledger:gift_file", file_id=file_id)


def _page(request: HttpRequest, file: GiftFile, table: tables.Table, form: ColumnsForm, *, refused: Form):
    found = queries.preview(file=file, table=table, today=present.read().today)
    return page(
        request,
        "ledger/gift_file/page.html",
        file=file,
        table=table,
        columns=form,
        form=refused,
        preview=found,
        shown=found.rows[:SHOWN],
        more=max(len(found.rows) - SHOWN, 0),
        may_write=request.user.may(*WRITE),
        status=422 if refused.errors else 200,
    )


def _file(file_id: int) -> GiftFile:
    return get_object_or_404(GiftFile.objects.select_related("source"), pk=file_id)


def _funds() -> list[tuple[int, str]]:
    return [(choice.id, choice.name) for choice in fund_choices.fund_choices()]


def _columns(file: GiftFile, table: tables.Table) -> dict[str, Any]:
    return {"heads": table.heads, "funds": _funds(), "initial": _initial(file, table)}


def _initial(file: GiftFile, table: tables.Table) -> dict[str, object]:
    source, columns = file.source, queries.columns_of(file.source, table)
    said = {f"column_{meaning}": table.heads[columns[meaning]] for meaning, _ in ASKED if meaning in columns}
    rules = source.rules.select_related("fund").order_by("position")
    said |= {f"words_{how}": ", ".join(words) for how, words in source.back_words.items()}
    return {
        **said,
        "way": source.way,
        "decimal": source.decimal,
        "order": {True: "day", False: "month"}.get(source.day_first, ""),
        "fund_id": source.fund_id,
        "rules": "\n".join(f"{rule.contains} {RULE} {rule.fund.name}" for rule in rules),
    }
