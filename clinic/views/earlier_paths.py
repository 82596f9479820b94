"""Writing down a path from before the house opened."""

from django.http import HttpRequest, HttpResponse

from clinic.actions import earlier_paths as actions
from clinic.forms import earlier_paths as forms
from clinic.views import present
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import Role


@gate(write={Role.VET, Role.MANAGER})
def earlier_path(request: HttpRequest) -> HttpResponse:
    now = present.read()
    form = forms.EarlierPathForm(request.POST or None)
    rows = forms.EarlierOperationForms(request.POST or None, prefix="operation")
    if request.POST:
        if not rows.is_valid():
            form.is_valid()
            form.add_rows(rows)
        if form.is_valid():
            said = [row.said for row in rows.forms if row.said]
            made = act(form, lambda: actions.remember(**form.cleaned_data, operations=said, by=request.user, at=now.at))
            if made is not None:
                return redirect(request, "clinic:finished_paths")
    facts = {"form": form, "rows": rows, "opening_on": now.house.opening_on}
    return page(request, "clinic/path/earlier.html", status=422 if form.errors else 200, **facts)
