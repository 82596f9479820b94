"""One donor's data as a file, and erasing their name."""

from django.http import Http404, HttpRequest, HttpResponse

from clinic.actions.erase_donor import erase_donor
from clinic.forms.donor_data import EraseForm
from clinic.queries import donor_data
from clinic.queries import donor_erasure as query
from clinic.views import present
from clinic.views.papers import WRITE
from config import render
from config.access import gate
from config.acting import tell
from config.exports import Sheet
from config.refusal import Refusal
from config.render import page, redirect


@gate(read=WRITE)
def donor_data_file(request: HttpRequest, donor_id: int, kind: str) -> HttpResponse:
    today = present.read().today
    lines = donor_data.donor_data(donor_id=donor_id, today=today)
    if not lines:
        raise Http404
    name = f"donor-{donor_id}-{today:%Y-%m-%d}"
    if kind == "json":
        content = donor_data.as_json(lines, today=today)
        return render.file(content, filename=f"{name}.json", content_type="application/json")
    sheet = Sheet(title=f"Donor {donor_id}", heads=donor_data.HEADS, rows=donor_data.as_rows(lines))
    return render.tables(sheet, filename=name, kind=kind)


@gate(write=WRITE)
def donor_erase(request: HttpRequest, donor_id: int) -> HttpResponse:
    """Show what goes and what stays, and erase; in transactions of its own, since files go too."""
    now = present.read()
    found = query.donor_erasure(donor_id=donor_id, today=now.today)
    if found is None:
        raise Http404
    if found.donor.erased_on:
        return redirect(request, "ledger:donor", donor_id=found.donor.donor_id)
    form, left = EraseForm(request.POST or None), None
    if form.is_valid():
        said = {"why": form.cleaned_data["why"], "by": request.user.id, "today": now.today, "at": now.at}
        try:
            left = erase_donor(donor_id=donor_id, **said)
        except Refusal as refused:
            tell(form, refused)
    if left:
        return page(request, "clinic/donor_data/left.html", donor_id=donor_id, places=left)
    if left is not None:
        return redirect(request, "ledger:donor", donor_id=found.donor.donor_id)
    return page(request, "clinic/donor_data/erase.html", found=found, form=form, status=422 if form.errors else 200)
