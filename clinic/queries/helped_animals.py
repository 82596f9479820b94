"""The animals whose care a donor's gifts paid for in part, each with what it was and how it is now."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from clinic.models import Animal, Stay
from clinic.queries.photos import PaperPhoto, photos_for
from clinic.queries.what_we_chose import Chosen, what_we_chose
from ledger.formulas import money
from ledger.queries.donor_trace import PaidLine

LAST_CARE = "Last care"
AT_THE_END = ("euthan", "cremat", "last care")


@dataclass(frozen=True, kw_only=True)
class KindPaid:
    words: str
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class Helped:
    """One animal whose care the gifts paid for in part."""

    key: str
    name: str
    species: str
    about: str
    now: str
    days: int
    kinds: tuple[KindPaid, ...]
    given_minor: int  # what the clinic gave beside it, in proportion to the part that the gifts paid
    paid_minor: int
    chosen: Chosen | None  # of an animal on a staged path
    photo: PaperPhoto | None  # where somebody agreed that donors may see it (I5)


def helped_animals(*, paid: tuple[PaidLine, ...], on: date, photos_on: date) -> dict[str, Helped]:
    """Group the paid lines by animal, the one that received most first; photos are those agreed to on `photos_on`."""
    by_animal: dict[str, list[PaidLine]] = defaultdict(list)
    for line in paid:
        by_animal[line.subject_key].append(line)
    keys = list(by_animal)
    animals = {animal.key: animal for animal in Animal.objects.filter(key__in=keys)}
    photos = photos_for(animals=animals.values(), use="statement", on=photos_on)
    stays, chosen = _last_stays(animals, on), what_we_chose(animals=animals, on=on)
    found = {
        key: _helped(key, lines, animals.get(key), stays.get(key), chosen.get(key), photos.get(key), on)
        for key, lines in by_animal.items()
    }
    return dict(sorted(found.items(), key=lambda item: (-item[1].paid_minor, item[1].name)))


def _helped(
    key: str, lines: list[PaidLine], animal: Animal | None, stay: Stay | None, chosen: Chosen | None,
    photo: PaperPhoto | None, on: date,
) -> Helped:  # fmt: skip
    return Helped(
        key=key,
        name=lines[0].subject_words or (animal.name or animal.number if animal else ""),
        species=animal.species if animal else "",
        about=animal.about if animal else "",
        now=_now(stay, on),
        days=len({line.care_on for line in lines}),
        kinds=_kinds(lines),
        given_minor=money.half_up(sum(_beside(line) for line in lines)),
        paid_minor=sum(line.amount_minor for line in lines),
        chosen=chosen,
        photo=photo,
    )


def _beside(line: PaidLine) -> Fraction:
    """What the clinic gave on this line, for the part of it that the gifts paid."""
    return Fraction(line.given_minor * line.amount_minor, line.asked_minor) if line.asked_minor else Fraction(0)


def _kinds(lines: list[PaidLine]) -> tuple[KindPaid, ...]:
    sums: dict[str, int] = defaultdict(int)
    for line in lines:
        sums[_words(line)] += line.amount_minor
    ordered = sorted(sums.items(), key=lambda item: (-item[1], item[0]))
    return tuple(KindPaid(words=words, amount_minor=amount) for words, amount in ordered)


def _words(line: PaidLine) -> str:
    """The line's words; what is done at the end of a life reads the same everywhere, and is no headline (I2)."""
    said = line.words.lower()
    return LAST_CARE if any(word in said for word in AT_THE_END) else line.words


def _last_stays(animals: dict[str, Animal], on: date) -> dict[str, Stay]:
    key_of = {animal.pk: key for key, animal in animals.items()}
    stays = Stay.objects.filter(animal__in=key_of, admitted_on__lte=on).order_by("admitted_on")
    return {key_of[stay.animal_id]: stay for stay in stays}


def _now(stay: Stay | None, on: date) -> str:
    """Say how the animal is now, in one sentence; a death is told quietly and never as a headline (I2)."""
    if stay is None:
        return ""
    if stay.discharged_on is None or stay.discharged_on > on:
        return f"Still in our care, day {(on - stay.admitted_on).days + 1}."
    since = f"{stay.discharged_on:%B} {stay.discharged_on.day}"
    words = {
        Stay.LeftTo.FOSTER: f"In a foster home since {since}.",
        Stay.LeftTo.PARTNER: f"Back with its rescue group since {since}.",
        Stay.LeftTo.ADOPTED: f"Adopted on {since}.",
        Stay.LeftTo.DIED: f"Died on {since}, cared for to the last.",
        Stay.LeftTo.EUTHANIZED: f"Died on {since}, cared for to the last.",
    }
    return words.get(stay.left_to, f"Left our care on {since}.")
