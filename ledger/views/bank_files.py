"""Bank files: bringing one, seeing what it says, and taking it in."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from config import tables
from config.access import gate
from config.acting import act
from config.refusal import Refusal
from config.render import page, redirect
from ledger.actions import bank_files as actions
from ledger.forms.bank import ASKED, BankColumnsForm, BankFileForm
from ledger.forms.plain import PlainForm
from ledger.models import BankFile
from ledger.queries import bank_files as queries
from ledger.queries import bank_page
from ledger.views import present
from ledger.views.present import READ, WRITE


@gate(read=READ, write=WRITE)
def bank_files(request: HttpRequest) -> HttpResponse:
    now = present.read()
    form = BankFileForm(request.POST or None, request.FILES or None)
    if form.is_valid():
        said, upload = form.cleaned_data, form.cleaned_data["file"]
        facts = {name: said[name] for name in ("key", "account", "closing_minor")}
        facts |= {"content": upload.read(tables.MOST_BYTES + 1), "name": upload.name}
        kept = act(form, lambda: actions.bring(**facts, by=request.user.id, at=now.at))
        if kept is not None:
            return redirect(request, "ledger:bank_file", bank_file_id=kept.id)
    return page(
        request,
        "ledger/bank_files/page.html",
        files=bank_page.files(),
        accounts=bank_page.account_names(),
        form=form,
        may_write=request.user.may(*WRITE),
        status=422 if form.errors else 200,
    )


@gate(read=READ, write=WRITE)
def bank_file(request: HttpRequest, bank_file_id: int) -> HttpResponse:
    """See what a file says; of a table, say what its columns hold."""
    file = get_object_or_404(BankFile.objects.select_related("account"), pk=bank_file_id)
    seen = _seen(file)
    form = _columns(request, file, seen.table) if seen else None
    if form and form.is_valid() and act(form, lambda: actions.say(account=file.account, **form.said)) is not None:
        return redirect(request, "ledger:bank_file", bank_file_id=bank_file_id)
    obstacle, found = _judged(file)
    return page(
        request,
        "ledger/bank_file/page.html",
        file=file,
        found=found,
        obstacle=obstacle or next((one.obstacle for one in found if one.obstacle), ""),
        new=sum(len(one.new) for one in found),
        form=form or PlainForm(),
        columns=form,
        seen=seen,
        may_write=request.user.may(*WRITE),
        status=422 if form and form.errors else 200,
    )


@gate(write=WRITE)
def bank_file_take_in(request: HttpRequest, bank_file_id: int) -> HttpResponse:
    """Take in the statements of a file; a refusal is told on the file's page, which finds it too."""
    file, now = get_object_or_404(BankFile.objects.select_related("account"), pk=bank_file_id), present.read()
    form = PlainForm(request.POST or None)
    said = {"today": now.today, "by": request.user.id, "at": now.at}
    if (
        request.method == "POST"
        and form.is_valid()
        and act(form, lambda: actions.take_in(file=file, **said)) is not None
    ):
        return redirect(request, "ledger:bank")
    return redirect(request, "ledger:bank_file", bank_file_id=bank_file_id)


def _judged(file: BankFile) -> tuple[str, tuple[queries.Judged, ...]]:
    try:
        return "", queries.judged_file(file=file, today=present.read().today)
    except Refusal as refused:
        return str(refused), ()


def _seen(file: BankFile) -> queries.Seen | None:
    """A table and how it is read; None for a statement of another form, and for a table that is gone."""
    try:
        return queries.seen(file) if file.account else None
    except Refusal:
        return None


def _columns(request: HttpRequest, file: BankFile, table: tables.Table) -> BankColumnsForm:
    columns = queries.columns_of(file.account, table)
    said = {f"column_{meaning}": table.heads[columns[meaning]] for meaning, _ in ASKED if meaning in columns}
    said |= {"decimal": file.account.decimal, "order": {True: "day", False: "month"}.get(file.account.day_first, "")}
    return BankColumnsForm(request.POST or None, heads=table.heads, initial=said)
