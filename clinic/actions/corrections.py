"""Correcting who an animal is said to be: name, sex, species, chip, numbers; what stood before is kept.

Refusal
└── CorrectionRefused
    ├── WithoutReason     something is said anew, and not why
    ├── CorrectedAhead    from a day that has not come yet
    └── ChipOfAnother     the chip is that of another animal
"""

from datetime import date, datetime
from typing import Any

from django.db import transaction

from clinic.actions import history
from clinic.models import Animal, AnimalCorrection, User
from config.refusal import Refusal

KEPT = tuple(AnimalCorrection.What.values)
FREE = ("about", "warning")  # words for the sheet, of no weight once they change


class CorrectionRefused(Refusal):
    """Nothing was changed."""


class WithoutReason(CorrectionRefused):
    field = "why"

    def __init__(self, words: str) -> None:
        super().__init__(f"Say why the {words} is another one now. Nothing was changed yet.")


class CorrectedAhead(CorrectionRefused):
    field = "on"

    def __init__(self) -> None:
        super().__init__("That day has not come yet. Nothing was changed. Give the day on which it was found.")


class ChipOfAnother(CorrectionRefused):
    field = "chip"

    def __init__(self, other: Animal) -> None:
        super().__init__(f"The chip is that of {other}. Read it anew; nothing was changed.")


@transaction.atomic
def correct(
    *, animal: Animal, said: dict[str, Any], on: date, why: str, by: User, today: date, at: datetime
) -> list[AnimalCorrection]:
    """Change what is said of an animal and keep what stood before; a first name or chip needs no reason.

    :raises CorrectedAhead: when the day has not come yet.
    :raises WithoutReason: when something that stood there becomes another thing, and no reason is given.
    :raises ChipOfAnother: when another animal has the chip.
    """
    animal = Animal.objects.select_for_update(of=("self",)).get(pk=animal.pk)
    if on > today:
        raise CorrectedAhead
    changed = [name for name in KEPT if name in said and said[name] != getattr(animal, name)]
    replaced = [name for name in changed if not _is_empty(name, getattr(animal, name))]
    if replaced and not why.strip():
        raise WithoutReason(AnimalCorrection.What(replaced[0]).label)
    other = Animal.objects.filter(chip=said.get("chip")).exclude(pk=animal.pk).first() if said.get("chip") else None
    if "chip" in changed and other:
        raise ChipOfAnother(other)
    made = [_line(animal, name, said[name], on=on, why=why, by=by, at=at) for name in changed]
    for name in (*changed, *(name for name in FREE if name in said)):
        setattr(animal, name, said[name])
    animal.save(update_fields=[*KEPT, *FREE])
    if made:
        history.note(
            animal=animal,
            what="animal",
            what_id=animal.pk,
            by=by,
            at=at,
            before={line.what: line.before for line in made},
            after={line.what: line.after for line in made},
            why=why,
        )
    return AnimalCorrection.objects.bulk_create(made)


def _is_empty(name: str, value: object) -> bool:
    return not value or (name == "sex" and value == Animal.Sex.UNKNOWN)


def _line(animal: Animal, name: str, after: object, **facts: Any) -> AnimalCorrection:
    before = getattr(animal, name)
    return AnimalCorrection(animal=animal, what=name, before=str(before or ""), after=str(after or ""), **facts)
