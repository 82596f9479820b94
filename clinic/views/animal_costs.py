"""What one animal has cost; for those of the house who see amounts."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from clinic.models import Animal
from clinic.queries import animal_costs as queries
from clinic.views import present
from config.access import gate
from config.render import page
from config.roles import MONEY


@gate(read=MONEY)
def animal_costs(request: HttpRequest, animal_id: int) -> HttpResponse:
    now = present.read()
    found = get_object_or_404(Animal, pk=animal_id)
    costs = queries.animal_costs(animal=found, on=now.ward, house=now.house)
    return page(request, "clinic/animal_costs/page.html", costs=costs)
