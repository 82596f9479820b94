"""Donors: the list, one donor, adding and changing."""

from django.http import Http404, HttpRequest, HttpResponse

from config.access import gate
from config.acting import act
from config.render import page, redirect
from ledger.actions import donors as actions
from ledger.forms.donors import DonorForm
from ledger.queries import donor_page, gifts
from ledger.queries import donors as queries
from ledger.views import present
from ledger.views.present import READ, WRITE

ASKED = ("name", "kind", "address", "email", "wants", "is_unnamed", "language", "note")


@gate(read=READ | WRITE)
def donors(request: HttpRequest) -> HttpResponse:
    wanted = request.GET.get("name", "").strip()[:80]
    return page(
        request,
        "ledger/donors/page.html",
        donors=queries.donors(asked=wanted, after=request.GET.get("after", "")),
        wanted=wanted,
        may_write=request.user.may(*WRITE),
    )


@gate(read=READ | WRITE)
def donor(request: HttpRequest, donor_id: int) -> HttpResponse:
    """Show one donor; whoever is read as another leads there."""
    found = donor_of(donor_id)
    if found.donor_id != donor_id:
        return redirect(request, "ledger:donor", donor_id=found.donor_id)
    return page(
        request,
        "ledger/donor/page.html",
        donor=found,
        facts=donor_page.donor_facts(donor_id=donor_id),
        gifts=gifts.gifts(donor_id=donor_id, after=request.GET.get("after", "")),
        year=present.read().today.year,
        may_write=request.user.may(*WRITE),
    )


@gate(write=WRITE)
def donor_add(request: HttpRequest) -> HttpResponse:
    form = DonorForm(request.POST or None)
    if form.is_valid():
        said = form.cleaned_data
        kept = act(form, lambda: actions.add(**said, on=present.read().today, by=request.user.id))
        if kept is not None:
            return redirect(request, "ledger:donor", donor_id=kept.id)
    return page(request, "ledger/donor_add/page.html", form=form, status=422 if form.errors else 200)


@gate(write=WRITE)
def donor_change(request: HttpRequest, donor_id: int) -> HttpResponse:
    found = donor_of(donor_id)
    form = DonorForm(request.POST or None, initial={name: getattr(found, name) for name in ASKED})
    if form.is_valid():
        said = {name: form.cleaned_data[name] for name in ASKED}
        common = {"donor_id": found.donor_id, "on": present.read().today, "by": request.user.id}
        kept = act(form, lambda: actions.change(**said, **common))
        if kept is not None:
            return redirect(request, "ledger:donor", donor_id=found.donor_id)
    return page(request, "ledger/donor_change/page.html", form=form, donor=found, status=422 if form.errors else 200)


def donor_of(donor_id: int) -> queries.DonorLine:
    found = queries.donor(donor_id=donor_id)
    if found is None:
        raise Http404
    return found
