"""Who spent the nights in the ward, as a picture: one mark for each animal, by kind."""

from collections import Counter
from datetime import date, timedelta

from clinic.models import Stay
from config import charts

KINDS = ("dogs", "cats", "small animals")
OF_THEIR_OWN = ("dog", "cat")


def nights_spent(*, first: date, last: date) -> tuple[charts.Night, ...]:
    """Return who spent each night from `first` to `last`, both counted in, by kind."""
    stays = Stay.objects.filter(admitted_on__lte=last, is_history=False).exclude(discharged_on__lte=first)
    spans = [
        (_kind(species), came, left)
        for species, came, left in stays.values_list("animal__species", "admitted_on", "discharged_on")
    ]
    nights = []
    for count in range((last - first).days + 1):
        night = first + timedelta(days=count)
        counts = Counter(kind for kind, came, left in spans if came <= night and (left is None or left > night))
        nights.append(charts.Night(on=night, counts=tuple(counts[kind] for kind in range(len(KINDS)))))
    return tuple(nights)


def occupancy(*, first: date, last: date) -> charts.Chart | None:
    """Draw the nights from `first` to `last`, both counted in; None where nobody spent one."""
    nights = nights_spent(first=first, last=last)
    if not any(sum(night.counts) for night in nights):
        return None
    return charts.occupancy(
        name="in-care",
        title="In care, by night",
        desc="One mark for each animal that spent the night, dogs, cats and small animals told apart.",
        nights=nights,
        kinds=KINDS,
    )


def _kind(species: str) -> int:
    return OF_THEIR_OWN.index(species) if species in OF_THEIR_OWN else len(OF_THEIR_OWN)
