"""An animal's group, its mother and its young."""

from dataclasses import dataclass

from clinic.models import Animal, BoardingLevel, StayLevel

WITH_MOTHER = "boarding-with-mother"  # of the starting price list: it costs nothing


@dataclass(frozen=True)
class Relative:
    id: int
    name: str


@dataclass(frozen=True)
class Family:
    group_id: int | None
    group: str
    members: tuple[Relative, ...]  # of the group, this animal among them
    mother: Relative | None
    young: tuple[Relative, ...]


def family(*, animal: Animal) -> Family:
    group = animal.group
    return Family(
        group_id=group.pk if group else None,
        group=group.name if group else "",
        members=tuple(_relative(one) for one in group.animals.order_by("pk")) if group else (),
        mother=_relative(animal.mother) if animal.mother else None,
        young=tuple(_relative(one) for one in animal.young.order_by("pk")),
    )


def young_level(*, mother: Animal) -> BoardingLevel | None:
    """Return the level at which young born here were boarded last, else the one with their mother, else hers."""
    levels = StayLevel.objects.select_related("level").order_by("-from_on", "-pk")
    if born_here := levels.filter(stay__animal__is_born_here=True).first():
        return born_here.level
    with_mother = BoardingLevel.objects.filter(service__code=WITH_MOTHER).first()
    own = levels.filter(stay__animal=mother, stay__discharged_on=None).first()
    return with_mother or (own.level if own else None)


def _relative(animal: Animal) -> Relative:
    return Relative(animal.pk, animal.name or animal.number)
