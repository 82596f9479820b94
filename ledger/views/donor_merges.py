"""Two donors who may be one: the pairs, one pair side by side, merging, keeping apart, undoing."""

from django.http import Http404, HttpRequest, HttpResponse

from config import figures
from config.access import gate
from config.acting import act
from config.render import page, redirect
from ledger.actions import donor_merges as actions
from ledger.forms.donors import MergeForm, UndoMergeForm
from ledger.forms.plain import PlainForm
from ledger.queries import donor_page, donors
from ledger.queries import donor_twins as queries
from ledger.queries import donors_apart as donors_apart_query
from ledger.views import present
from ledger.views.donors import donor_of
from ledger.views.present import READ, WRITE


@gate(read=READ | WRITE)
def donor_twins(request: HttpRequest) -> HttpResponse:
    """Show who may be one person; with ?donor= and ?name= somebody looks for one donor's other name."""
    number, name = request.GET.get("donor", ""), request.GET.get("name", "").strip()[:80]
    asked = figures.row_number(number)
    donor = donors.donor(donor_id=asked) if asked is not None else None
    others = donors.donors(asked=name).rows if donor and name else ()
    return page(
        request,
        "ledger/donor_twins/page.html",
        twins=queries.twins(),
        apart=donors_apart_query.apart(),
        donor=donor,
        wanted=name,
        others=[other for other in others if donor and other.donor_id != donor.donor_id and not other.erased_on],
        may_write=request.user.may(*WRITE),
    )


@gate(write=WRITE)
def donor_merge(request: HttpRequest, donor_id: int, other_id: int) -> HttpResponse:
    found, now = queries.compared(one_id=donor_id, other_id=other_id), present.read()
    if found is None:
        return redirect(request, "ledger:donor", donor_id=donor_of(donor_id).donor_id)
    two = [(line.donor_id, line.name) for line in (found.one, found.other)]
    form = MergeForm(request.POST or None, two=two)
    if form.is_valid():
        said = form.cleaned_data
        away = next(number for number, _ in two if number != said["into_id"])
        made = act(form, lambda: actions.merge(**said, donor_id=away, by=request.user.id, on=now.today, at=now.at))
        if made is not None:
            return redirect(request, "ledger:donor", donor_id=said["into_id"])
    return page(request, "ledger/donor_merge/page.html", form=form, two=found, status=422 if form.errors else 200)


@gate(write=WRITE)
def donors_apart(request: HttpRequest, donor_id: int, other_id: int) -> HttpResponse:
    """Write down that two donors are two; they are not proposed again."""
    one, other = donor_of(donor_id).donor_id, donor_of(other_id).donor_id
    if request.method == "POST" and one != other:
        common = {"donor_id": one, "other_id": other, "by": request.user.id, "on": present.read().today}
        act(PlainForm({"sure": "yes"}), lambda: actions.keep_apart(**common))
    return redirect(request, "ledger:donor_twins")


@gate(write=WRITE)
def donors_ask_again(request: HttpRequest, donor_id: int, other_id: int) -> HttpResponse:
    """Take back that two donors are two, and lead to both side by side."""
    if request.method == "POST":
        act(PlainForm({"sure": "yes"}), lambda: actions.ask_again(donor_id=donor_id, other_id=other_id) + 1)
        return redirect(request, "ledger:donor_merge", donor_id=donor_id, other_id=other_id)
    return redirect(request, "ledger:donor_twins")


@gate(write=WRITE)
def donor_merge_undo(request: HttpRequest, merge_id: int) -> HttpResponse:
    found = donor_page.merge(merge_id=merge_id)
    if found is None or found.undone_on:
        raise Http404
    form = UndoMergeForm(request.POST or None)
    if form.is_valid():
        common = {"merge_id": merge_id, "by": request.user.id, "on": present.read().today}
        if act(form, lambda: actions.undo(**form.cleaned_data, **common)) is not None:
            return redirect(request, "ledger:donor", donor_id=found.donor_id)
    return page(
        request, "ledger/donor_merge_undo/page.html", form=form, merge=found, status=422 if form.errors else 200
    )
