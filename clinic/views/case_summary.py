"""The one page about a path that its owner can be sent to approve: on screen, and as a PDF."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from clinic.models import TreatmentPath
from clinic.queries import case_summary as query
from clinic.views import present
from config import render
from config.access import gate
from config.roles import MONEY


@gate(read=MONEY)
def case_summary(request: HttpRequest, path_id: int) -> HttpResponse:
    return render.page(request, "clinic/case_summary/page.html", summary=_summary(request, path_id))


@gate(read=MONEY)
def case_summary_pdf(request: HttpRequest, path_id: int) -> HttpResponse:
    summary = _summary(request, path_id)
    return render.pdf(
        "clinic/case_summary/print.html",
        filename=f"case-summary-{path_id}.pdf",
        summary=summary,
        paper_size=summary.paper,
        kind="case",
    )


def _summary(request: HttpRequest, path_id: int) -> query.CaseSummary:
    now = present.read()
    found = get_object_or_404(TreatmentPath.objects.select_related("animal__partner", "planned_by"), pk=path_id)
    by_wound = request.GET.get("days") == "wound"
    return query.case_summary(path=found, on=now.ward, house=now.house, wound_days=by_wound)
