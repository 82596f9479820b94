"""The ward sheet: shown for a day, ticked, written on, taken back, confirmed in the evening."""

from datetime import date
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from clinic.actions import care, evenings, groups, observations
from clinic.forms import ward_sheet as forms
from clinic.models import Animal, CareItem, Order
from clinic.queries import ward_sheet as query
from clinic.views import present
from config import figures
from config.access import gate
from config.acting import act
from config.render import nothing, page, part, redirect, script
from config.roles import CARE, Role

READ = {Role.BOOKKEEPER, Role.READER}


@gate(read=READ, write=CARE, on_tablet=True)
def ward_sheet_today(request: HttpRequest) -> HttpResponse:
    return redirect(request, "clinic:ward_sheet", on=present.read().ward)


@gate(read=READ, write=CARE, on_tablet=True)
def ward_sheet(request: HttpRequest, on: date) -> HttpResponse:
    now, opened = present.read(), _number(request.GET.get("open", ""))
    sheet = query.ward_sheet(on=on, today=now.ward, moment=now.at, house=now.house, opened=opened)
    source = request.GET.get("from", "")
    return page(
        request,
        "clinic/ward_sheet/page.html",
        sheet=sheet,
        opened=opened,
        source=source if source in CareItem.Source.values else "",
    )


@gate(read=READ, write=CARE, on_tablet=True)
def since(request: HttpRequest, on: date, change: int) -> HttpResponse:
    """Answer with the rows that somebody has changed since, with all when a new round has begun, or with nothing."""
    now = present.read()
    shown = {"on": on, "today": now.ward, "moment": now.at, "house": now.house}
    facts: dict[str, object] = {"change": query.last_change()}  # read first: what comes meanwhile is shown again
    facts["round"] = query.round_of(**shown)
    if request.GET.get("round") != facts["round"]:
        return part(request, "clinic/ward_sheet/changed.html", sheet=query.ward_sheet(**shown), whole=True, **facts)
    if not (changed := query.changed_since(change=change)):
        return nothing()
    some = query.excerpt(animals=changed, **shown)
    return part(request, "clinic/ward_sheet/changed.html", sheet=some, **facts)


@gate(read=READ, write=CARE, on_tablet=True)
def row(request: HttpRequest, on: date, animal_id: int) -> HttpResponse:
    """Answer with one row, its details open: what the page has opened by itself already is filled in."""
    now = present.read()
    shown = {"on": on, "today": now.ward, "moment": now.at, "house": now.house}
    some = query.excerpt(animals=[animal_id], opened=animal_id, **shown)
    if not some.rows:
        raise Http404
    return part(request, "clinic/ward_sheet/_row.html", sheet=some, row=some.rows[0], opened=animal_id)


@gate(read=READ, write=CARE, on_tablet=True)
def worker(request: HttpRequest) -> HttpResponse:
    """Give the script that opens a nameless page where the sheet is opened without a connection."""
    return script(request, "clinic/ward_sheet/worker.js")


@gate(read=READ, write=CARE, on_tablet=True)
def offline(request: HttpRequest) -> HttpResponse:
    return part(request, "clinic/ward_sheet/offline.html")


@require_POST
@gate(write=CARE, on_tablet=True)
def tick(request: HttpRequest, on: date) -> HttpResponse:
    """Mark one ordered thing as given, once."""
    now = present.read()
    form = forms.TickForm(request.POST)
    if form.is_valid():
        said = dict(form.cleaned_data)
        order = said["order"]
        said |= {"on": on, "service": order.service, "by": request.user, "today": now.ward, "at": now.at}
        if order.for_group_id:
            act(form, lambda: groups.give(group=order.for_group, **said))
        else:
            act(form, lambda: care.record(animal=order.animal, **said))
        return _tapped(request, on, now, order.animal, form)
    return _answer(request, on, now, 0, form)


@require_POST
@gate(write=CARE, on_tablet=True)
def again(request: HttpRequest, on: date) -> HttpResponse:
    """Write down one more of what is ordered, beside the order (B6)."""
    now = present.read()
    form = forms.AgainForm(request.POST)
    if not form.is_valid():
        return _answer(request, on, now, 0, form)
    said = dict(form.cleaned_data)
    order = said.pop("order")
    said |= {"key": said.pop("again"), "on": on, "service": order.service}
    said |= {"by": request.user, "today": now.ward, "at": now.at}
    if order.for_group_id:
        act(form, lambda: groups.give(group=order.for_group, **said))
    else:
        act(form, lambda: care.record(animal=order.animal, **said))
    return _tapped(request, on, now, order.animal, form)


@require_POST
@gate(write=CARE, on_tablet=True)
def write(request: HttpRequest, on: date) -> HttpResponse:
    """Write down something given beside the orders, extra minutes among them."""
    now = present.read()
    form = forms.WriteForm(request.POST)
    if form.is_valid():
        said = dict(form.cleaned_data)
        said |= {"on": on, "by": request.user, "today": now.ward, "at": now.at}
        animal, for_all = said.pop("animal"), said.pop("for_all")
        if for_all and animal.group:
            act(form, lambda: groups.give(group=animal.group, **said))
        else:
            act(form, lambda: care.record(animal=animal, **said))
    return _answer(request, on, now, _number(request.POST.get("animal", "")), form)


@require_POST
@gate(write=CARE, on_tablet=True)
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
                by=request.user,
                today=now.ward,
                at=now.at,
                **form.seen,
            ),
        )
    return _answer(request, on, now, _number(request.POST.get("animal", "")), form)


@require_POST
@gate(write=CARE, on_tablet=True)
def measured(request: HttpRequest, on: date) -> HttpResponse:
    """Write down pain and weight: codes and numbers, which wait without a connection as a tick does."""
    now = present.read()
    form = forms.MeasuredForm(request.POST)
    if form.is_valid():
        said = form.cleaned_data | {"on": on, "by": request.user, "today": now.ward, "at": now.at}
        act(form, lambda: observations.observe(**said))
    return _answer(request, on, now, _number(request.POST.get("animal", "")), form)


@require_POST
@gate(write=CARE, on_tablet=True)
def undo(request: HttpRequest, on: date) -> HttpResponse:
    now = present.read()
    form = forms.UndoForm(request.POST)
    if form.is_valid():
        item = form.cleaned_data["item"]
        act(form, lambda: care.undo(item=item, by=request.user, at=now.at))
        return _tapped(request, on, now, item.animal, form)
    return _answer(request, on, now, 0, form)


@require_POST
@gate(write=CARE, on_tablet=True)
def as_ordered(request: HttpRequest, on: date) -> HttpResponse:
    """Tick what is due in the present round, for one animal or for all; never what is overdue, never medication."""
    now = present.read()
    form = forms.AsOrderedForm(request.POST)
    if not form.is_valid():
        return _answer(request, on, now, 0, form)
    chosen = form.cleaned_data["animal"].pk if form.cleaned_data["animal"] else 0
    shown = {"on": on, "today": now.ward, "moment": now.at, "house": now.house}
    rows = query.excerpt(animals=[chosen], **shown).rows if chosen else query.ward_sheet(**shown).rows
    dues = [(row, due) for row in rows for due in row.now_due]
    orders = {
        order.pk: order
        for order in Order.objects.select_related("service", "animal", "for_group").filter(
            pk__in=[due.order_id for _, due in dues]
        )
    }
    facts = [
        care.Given(
            key=UUID(due.tick),
            animal=orders[due.order_id].animal,
            on=on,
            service=orders[due.order_id].service,
            order=orders[due.order_id],
            round=due.round,
        )
        for _, due in dues
        if not due.for_all
    ]
    wholes = [(orders[due.order_id], due) for _, due in dues if due.for_all]
    by = {"by": request.user, "today": now.ward, "at": now.at}

    def give() -> object:
        for order, due in wholes:
            said = {"key": UUID(due.tick), "on": on, "service": order.service, "order": order, "round": due.round}
            groups.give(group=order.for_group, **said, **by)
        return care.record_all(facts=facts, **by)

    kept = act(form, give)
    if kept is not None and request.htmx and not chosen:
        some = query.excerpt(animals={row.animal_id for row, _ in dues}, **shown)
        return part(request, "clinic/ward_sheet/changed.html", sheet=some)
    return _answer(request, on, now, chosen, form)


@require_POST
@gate(write=CARE, on_tablet=True)
def all_seen(request: HttpRequest, on: date) -> HttpResponse:
    now = present.read()
    form = forms.SeenForm(request.POST)
    if form.is_valid():
        act(form, lambda: evenings.confirm(on=on, by=request.user, today=now.ward, at=now.at))
    return _answer(request, on, now, 0, form)


def _number(text: str) -> int:
    """Read the number of a row; what is none is 0, which is no row's."""
    return figures.row_number(text) or 0


def _tapped(request: HttpRequest, on: date, now: present.Present, animal: Animal, form) -> HttpResponse:
    """Answer a tap on a kit: with what it changed, where the row's details are not open."""
    if form.errors or not request.htmx or request.POST.get("opened"):
        return _answer(request, on, now, animal.pk, form)
    kits = query.kits(on=on, today=now.ward, moment=now.at, house=now.house, animal=animal)
    sheet = query.Excerpt(on=on, today=now.ward)
    source = request.POST.get("late_source", "")
    return part(request, "clinic/ward_sheet/_kits.html", sheet=sheet, kits=kits, source=source)


def _answer(request: HttpRequest, on: date, now: present.Present, animal_id: int, form) -> HttpResponse:
    """Answer a tap: the animal's row alone where the page asks for it, else the sheet at that row."""
    source = request.POST.get("late_source", "")
    if not form.errors and not (request.htmx and animal_id):
        address = reverse("clinic:ward_sheet", args=[on]) + (f"?from={source}" if source else "")
        return redirect(request, address + (f"#animal-{animal_id}" if animal_id else ""))
    status = 422 if form.errors else 200
    opened = animal_id if form.errors or request.POST.get("opened") else 0
    shown = {"on": on, "today": now.ward, "moment": now.at, "house": now.house, "opened": opened}
    facts = {"form": form if form.errors else None, "opened": opened, "source": source}
    if request.htmx and (some := query.excerpt(animals=[animal_id], **shown)).rows:
        facts["opened"] = some.rows[0].animal_id if opened else 0  # of a group the first stands for all
        return part(request, "clinic/ward_sheet/_row.html", status=status, sheet=some, row=some.rows[0], **facts)
    whole = page(request, "clinic/ward_sheet/page.html", status=status, sheet=query.ward_sheet(**shown), **facts)
    if request.htmx:  # the row is gone: the sheet takes the place of the whole page
        whole["HX-Retarget"], whole["HX-Reswap"] = "body", "innerHTML"
    return whole
