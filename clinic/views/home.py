"""The first page, the search box, and the way from a key of the books to its animal."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from clinic.models import Animal
from clinic.queries import find as find_query
from clinic.queries import home as query
from clinic.views import present
from config.access import gate
from config.render import page, redirect
from config.roles import CARE, MONEY, STAFF, Role


@gate(read=set(Role))
def home(request: HttpRequest) -> HttpResponse:
    if not request.user.may(*STAFF):
        return redirect(request, "clinic:your_animals")
    now = present.read()
    facts = query.home(on=now.ward, moment=now.at, house=now.house, roles=request.user.role_set)
    return page(request, "clinic/home/page.html", home=facts, may_admit=request.user.may(*CARE))


@gate(read=STAFF)
def find(request: HttpRequest) -> HttpResponse:
    asked = request.GET.get("q", "")[:200]
    finding = find_query.find(asked=asked, money_too=request.user.may(*MONEY))
    if len(finding.found) == 1 and finding.found[0].kind == "animal":
        return redirect(request, finding.found[0].address)
    return page(request, "clinic/find/page.html", finding=finding, asked=asked)


@gate(read=MONEY)
def animal_by_key(request: HttpRequest, subject_key: str) -> HttpResponse:
    """Lead from the opaque key that the books keep to the animal's page."""
    return redirect(request, "clinic:animal", animal_id=get_object_or_404(Animal, key=subject_key).pk)
