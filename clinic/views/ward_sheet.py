"""The ward sheet: shown for a day, ticked, written on, taken back, confirmed in the evening."""

from collections.abc import Collection
from datetime import date
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from clinic.actions import care, evenings
from clinic.forms import ward_sheet as forms
from clinic.models import Animal, CareItem, Order
from clinic.queries import ward_sheet as query
from clinic.views import present
from config.access import gate
from config.acting import act
from config.render import nothing, page, part, redirect, script
from config.roles import CARE, Role

READ = {Role.BOOKKEEPER, Role.READER}
LONGEST = 19  # digits that every database can hold


@gate(read=READ, write=CARE)
def ward_sheet_today(request: HttpRequest) -> HttpResponse:
    return redirect(request, "clinic:ward_sheet", on=present.read().ward)


@gate(read=READ, write=CARE)
def ward_sheet(request: HttpRequest, on: date) -> HttpResponse:
    now = present.read()
    sheet = query.ward_sheet(on=on, today=now.ward, moment=now.at, house=now.house)
    source = request.GET.get("from", "")
    return page(
        request,
        "clinic/ward_sheet/page.html",
        sheet=sheet,
        opened=_number(request.GET.get("open", "")),
        source=source if source in CareItem.Source.values else "",
    )


@gate(read=READ, write=CARE)
def since(request: HttpRequest, on: date, change: int) -> HttpResponse:
    """Answer with the rows that somebody has changed since, with all when a new round has begun, or with nothing."""
    now = present.read()
    changed = query.changed_since(change=change)
    turned = request.GET.get("round") != query.round_of(on=on, today=now.ward, moment=now.at, house=now.house)
    if not changed and not turned:
        return nothing()
    return _changed(request, on, now, None if turned else changed)


def _changed(request: HttpRequest, on: date, now: present.Present, animals: Collection[int] | None) -> HttpResponse:
    sheet = query.ward_sheet(on=on, today=now.ward, moment=now.at, house=now.house)
    rows = [row for row in sheet.rows if animals is None or row.animal_id in animals]
    return part(request, "clinic/ward_sheet/changed.html", sheet=sheet, rows=rows)


@gate(read=READ, write=CARE)
def worker(request: HttpRequest) -> HttpResponse:
    """Give the script that opens a nameless page where the sheet is opened without a connection."""
    return script(request, "clinic/ward_sheet/worker.js")


@gate(read=READ, write=CARE)
def offline(request: HttpRequest) -> HttpResponse:
    return part(request, "clinic/ward_sheet/offline.html")


@require_POST
@gate(write=CARE)
def tick(request: HttpRequest, on: date) -> HttpResponse:
    """Mark one ordered thing as given, once."""
    now = present.read()
    form = forms.TickForm(request.POST)
    if form.is_valid():
        order = form.cleaned_data["order"]
        act(
            form,
            lambda: care.record(
                key=form.cleaned_data["key"],
                animal=order.animal,
                on=on,
                service=order.service,
                order=order,
                round=form.cleaned_data["round"],
                by=request.user,
                today=now.ward,
                at=now.at,
                late_source=form.cleaned_data["late_source"],
                given_by=form.cleaned_data["given_by"],
            ),
        )
        return _answer(request, on, order.animal_id, form)
    return _answer(request, on, 0, form)


@require_POST
@gate(write=CARE)
def write(request: HttpRequest, on: date) -> HttpResponse:
    """Write down something given beside the orders, extra minutes among them."""
    now = present.read()
    form = forms.WriteForm(request.POST)
    if form.is_valid():
        said = form.cleaned_data
        act(
            form,
            lambda: care.record(
                key=said["key"],
                animal=said["animal"],
                on=on,
                service=said["service"],
                quantity=said["quantity"],
                given_free=said["given_free"],
                by=request.user,
                today=now.ward,
                at=now.at,
                late_source=said["late_source"],
                given_by=said["given_by"],
            ),
        )
    return _answer(request, on, _number(request.POST.get("animal", "")), form)


@require_POST
@gate(write=CARE)
def note(request: HttpRequest, on: date) -> HttpResponse:
    now = present.read()
    form = forms.NoteForm(request.POST)
    if form.is_valid():
        said = form.cleaned_data
        act(
            form,
            lambda: care.observe(
                key=said["key"],
                animal=said["animal"],
                on=on,
                kind=said["kind"],
                words=said["words"],
                by=request.user,
                today=now.ward,
                at=now.at,
            ),
        )
    return _answer(request, on, _number(request.POST.get("animal", "")), form)


@require_POST
@gate(write=CARE)
def undo(request: HttpRequest, on: date) -> HttpResponse:
    now = present.read()
    form = forms.UndoForm(request.POST)
    if form.is_valid():
        item = form.cleaned_data["item"]
        act(form, lambda: care.undo(item=item, by=request.user, at=now.at))
        return _answer(request, on, item.animal_id, form)
    return _answer(request, on, 0, form)


@require_POST
@gate(write=CARE)
def as_ordered(request: HttpRequest, on: date) -> HttpResponse:
    """Tick what is due in the present round, for one animal or for all; never what is overdue, never medication."""
    now = present.read()
    form = forms.AsOrderedForm(request.POST)
    if not form.is_valid():
        return _answer(request, on, 0, form)
    chosen = form.cleaned_data["animal"].pk if form.cleaned_data["animal"] else 0
    sheet = query.ward_sheet(on=on, today=now.ward, moment=now.at, house=now.house)
    dues = [(row, due) for row in sheet.rows if not row.signed and chosen in (0, row.animal_id) for due in row.now_due]

    orders = {
        order.pk: order
        for order in Order.objects.select_related("service").filter(pk__in=[due.order_id for _, due in dues])
    }
    facts = [
        care.Given(
            key=UUID(due.tick),
            animal=Animal(pk=row.animal_id, name=row.name, number=row.number),
            on=on,
            service=orders[due.order_id].service,
            order=orders[due.order_id],
            round=due.round,
        )
        for row, due in dues
    ]
    kept = act(form, lambda: care.record_all(facts=facts, by=request.user, today=now.ward, at=now.at))
    if kept is not None and request.htmx and not chosen:
        return _changed(request, on, now, {row.animal_id for row, _ in dues})
    return _answer(request, on, chosen, form)


@require_POST
@gate(write=CARE)
def all_seen(request: HttpRequest, on: date) -> HttpResponse:
    now = present.read()
    form = forms.SeenForm(request.POST)
    if form.is_valid():
        act(form, lambda: evenings.confirm(on=on, by=request.user, today=now.ward, at=now.at))
    return _answer(request, on, 0, form)


def _number(text: str) -> int:
    """Read the number of a row; what is none is 0, which is no row's."""
    return int(text) if text.isdecimal() and len(text) < LONGEST else 0


def _answer(request: HttpRequest, on: date, animal_id: int, form) -> HttpResponse:
    """Answer a tap: the animal's row alone where the page asks for it, else the sheet at that row."""
    now = present.read()
    source = request.POST.get("late_source", "")
    if not form.errors and not (request.htmx and animal_id):
        address = reverse("clinic:ward_sheet", args=[on]) + (f"?from={source}" if source else "")
        return redirect(request, address + (f"#animal-{animal_id}" if animal_id else ""))
    sheet = query.ward_sheet(on=on, today=now.ward, moment=now.at, house=now.house)
    row = next((row for row in sheet.rows if row.animal_id == animal_id), None)
    status = 422 if form.errors else 200
    if request.htmx and row:
        opened = animal_id if form.errors or request.POST.get("opened") else 0
        refused = form if form.errors else None
        facts = {"sheet": sheet, "row": row, "form": refused, "opened": opened, "source": source}
        return part(request, "clinic/ward_sheet/answer.html", status=status, **facts)
    facts = {"sheet": sheet, "form": form, "opened": animal_id, "source": source}
    whole = page(request, "clinic/ward_sheet/page.html", status=status, **facts)
    if request.htmx:  # the row is gone: the sheet takes the place of the whole page
        whole["HX-Retarget"], whole["HX-Reswap"] = "body", "innerHTML"
    return whole
