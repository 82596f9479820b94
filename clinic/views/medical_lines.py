"""The medical line that donors read of a path: reading it by the path's states, and approving it as a vet (I3)."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from clinic.actions import medical_lines as actions
from clinic.forms.medical_lines import MedicalLineForm
from clinic.models import TreatmentPath
from clinic.queries import medical_lines as query
from clinic.views import present
from clinic.views.paths import PLAN, READ
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import Role


@gate(read=READ | PLAN, write={Role.VET})
def medical_line(request: HttpRequest, path_id: int) -> HttpResponse:
    now = present.read()
    path = get_object_or_404(TreatmentPath.objects.select_related("animal"), pk=path_id)
    told = query.medical_line_page(path=path, since=request.GET.get("since", ""), on=now.ward)
    form = MedicalLineForm(request.POST or None, initial=told.first_words if told else None)
    if form.is_valid():
        said = form.cleaned_data
        if act(form, lambda: actions.approve(**said, path=path, by=request.user, at=now.at)):
            return redirect(request, "clinic:medical_line", path_id=path.pk)
    facts = {"path": path, "told": told, "form": form, "may_approve": request.user.may(Role.VET)}
    return page(request, "clinic/medical_line/page.html", status=422 if form.errors else 200, **facts)
