"""Whole price lists: taken away as a file, copied forward with a percentage, brought in after a preview."""

from django.http import HttpRequest, HttpResponse

from clinic.actions import price_lists as actions
from clinic.forms.price_list import HEADS, CopyForm, ListFileForm, Wrong, read
from clinic.queries import prices as queries
from clinic.views import present
from config.access import gate
from config.acting import act
from config.exports import Sheet
from config.render import page, redirect, tables
from config.roles import MONEY, Role

WRITE = frozenset({Role.BOOKKEEPER, Role.MANAGER})


@gate(read=MONEY)
def price_file(request: HttpRequest, kind: str) -> HttpResponse:
    on = present.read().ward
    sheet = Sheet(title="Prices", heads=HEADS, rows=queries.price_rows(on=on))
    return tables(sheet, filename=f"prices-{on}", kind=kind)


@gate(write=WRITE)
def copy_prices(request: HttpRequest) -> HttpResponse:
    now = present.read()
    form = CopyForm(request.POST or None, initial={"starts_on": now.ward})
    if form.is_valid():
        made = act(form, lambda: actions.copy_forward(**form.cleaned_data, by=request.user, at=now.at))
        if made is not None:
            return redirect(request, "clinic:prices")
    return page(request, "clinic/prices/copy.html", form=form, status=422 if form.errors else 200)


@gate(write=WRITE)
def price_import(request: HttpRequest) -> HttpResponse:
    """Read the file and show what it would do; keep it when its text comes again with a yes."""
    now = present.read()
    form = ListFileForm(request.POST or None, request.FILES or None)
    if not form.is_valid():
        return page(request, "clinic/prices/import.html", form=form, status=422 if form.errors else 200)
    found = read(form.cleaned_data["text"])
    said = {"rows": found.rows, "by": request.user, "at": now.at}
    if "keep" in request.POST and not found.wrong and act(form, lambda: actions.bring_in(**said)) is not None:
        return redirect(request, "clinic:prices")
    judged = act(form, lambda: actions.judge(**said)) or ()
    refused = [Wrong(one.row.line, one.sentence) for one in judged if one.sentence]
    wrong = sorted([*found.wrong, *refused], key=lambda one: one.line)
    facts = {"form": form, "judged": judged, "wrong": wrong, "text": form.cleaned_data["text"]}
    return page(request, "clinic/prices/import.html", **facts, status=422 if wrong or form.errors else 200)
