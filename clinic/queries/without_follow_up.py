"""Animals that nobody will ask after: operated or on a path, discharged alive, and no follow-up planned."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Exists, OuterRef, Q

from clinic.models import FollowUp, Procedure, Stay, TreatmentPath

YEAR = timedelta(days=365)  # after it nobody is expected to ask any more
DEAD = (Stay.LeftTo.DIED, Stay.LeftTo.EUTHANIZED)


@dataclass(frozen=True)
class LeftWithout:
    animal_id: int
    name: str
    species: str
    left_on: date
    left_to: str
    why: str  # "operated", "on a path"


def without_follow_up(*, on: date) -> tuple[LeftWithout, ...]:
    """Return the animals that left within a year, operated in that stay or on a path, without a follow-up since.

    One that is open, or has its result since they left, is a follow-up.
    """
    animal = OuterRef("animal")
    operated = Procedure.objects.filter(
        care_item__animal=animal,
        care_item__undone_at__isnull=True,
        care_item__on__gte=OuterRef("admitted_on"),
        care_item__on__lte=OuterRef("discharged_on"),
    )
    paths = TreatmentPath.objects.filter(animal=animal, parted_on__isnull=False).filter(
        Q(ended_on__isnull=True) | Q(ended_on__gte=OuterRef("admitted_on"))
    )
    asked = FollowUp.objects.filter(animal=animal).filter(
        Q(result="") | Q(done_on__gte=OuterRef("discharged_on"), result__gt="") & ~Q(result=FollowUp.Result.DROPPED)
    )
    since = Stay.objects.filter(animal=animal, admitted_on__gte=OuterRef("discharged_on")).exclude(pk=OuterRef("pk"))
    left = (
        Stay.objects.filter(is_history=False, discharged_on__gt=on - YEAR, discharged_on__lte=on)
        .exclude(left_to__in=DEAD)
        .annotate(is_operated=Exists(operated), is_on_path=Exists(paths))
        .filter(Q(is_operated=True) | Q(is_on_path=True))
        .filter(~Exists(asked), ~Exists(since))
        .select_related("animal")
        .order_by("discharged_on", "pk")
    )
    return tuple(
        LeftWithout(
            animal_id=stay.animal_id,
            name=stay.animal.name or stay.animal.number,
            species=stay.animal.species,
            left_on=stay.discharged_on,
            left_to=_left_to(stay.left_to),
            why="on a path" if stay.is_on_path else "operated",
        )
        for stay in left
    )


def _left_to(code: str) -> str:
    return Stay.LeftTo(code).label if code in Stay.LeftTo.values else code
