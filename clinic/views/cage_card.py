"""The card at a cage, and where its code leads."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from clinic.models import Animal
from clinic.queries import cage_card as query
from clinic.views import present
from config import render
from config.access import gate
from config.roles import CARE, Role

READ = {Role.BOOKKEEPER, Role.READER}


@gate(read=READ | CARE)
def cage_card(request: HttpRequest, animal_id: int) -> HttpResponse:
    now, found = present.read(), get_object_or_404(Animal.objects.select_related("partner", "group"), pk=animal_id)
    address = request.build_absolute_uri(reverse("clinic:cage_card_row", args=[found.pk]))
    card = query.cage_card(animal=found, on=now.ward, address=address, house=now.house)
    name = f"cage-card-{found.number}.pdf"
    return render.pdf("clinic/cage_card/print.html", filename=name, card=card, paper_size=card.paper, kind="card")


@gate(read=READ | CARE, on_tablet=True)
def cage_card_row(request: HttpRequest, animal_id: int) -> HttpResponse:
    """Lead from the code at the cage to the animal's row of today, open; to its page when it is not in care."""
    now, found = present.read(), get_object_or_404(Animal, pk=animal_id)
    stands = query.row_of(animal=found)
    if stands is None:
        return render.redirect(request, "clinic:animal", animal_id=found.pk)
    sheet = reverse("clinic:ward_sheet", args=[now.ward])
    return render.redirect(request, f"{sheet}?open={stands}#animal-{stands}")
