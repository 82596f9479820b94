"""A partner's animals over some days: how long each was there, what was done, who paid in groups of funds (F4)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Count

from clinic.models import Animal, BoardingDay, Partner
from clinic.queries.animals import left_words
from clinic.queries.partner_funds import group_of
from ledger.queries.charges import ChargeLine

AGREEMENT, FUND, NOBODY, CLINIC = "Your agreement", "Your fund", "Nobody yet", "Given by the clinic"
ORDER = (AGREEMENT, "Gifts for this animal", "Gifts for this kind of care", FUND, "General money", "Other funds")


@dataclass(frozen=True, kw_only=True)
class KindAsked:
    words: str
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class AnimalMonth:
    key: str
    own_id: int | None  # of an animal that is the partner's still
    name: str
    partner_number: str
    now: str
    days: int
    kinds: tuple[KindAsked, ...]
    usual_minor: int
    asked_minor: int
    paid: tuple[int, ...]  # in the order of the statement's columns

    @property
    def given_minor(self) -> int:
        return self.usual_minor - self.asked_minor


def columns_of(lines: Iterable[ChargeLine]) -> tuple[str, ...]:
    """Return the groups that paid for these lines, in the order of the paper; the agreement always has a column."""
    seen = {group_of(payer) for line in lines for payer in line.payers}
    last = (CLINIC, NOBODY)
    return tuple(words for words in (*ORDER, *last) if words in seen or words == AGREEMENT)


def partner_animals(
    partner: Partner, lines: tuple[ChargeLine, ...], columns: tuple[str, ...], from_on: date, to_on: date
) -> tuple[AnimalMonth, ...]:
    """Return the animals of these lines by name, each with what every column paid of it."""
    by_animal: dict[str, list[ChargeLine]] = defaultdict(list)
    for line in lines:
        by_animal[line.subject_key].append(line)
    animals = {
        animal.key: animal for animal in Animal.objects.filter(key__in=list(by_animal)).prefetch_related("stays")
    }
    nights = dict(
        BoardingDay.objects.filter(animal__key__in=list(by_animal), on__range=(from_on, to_on))
        .values_list("animal__key")
        .annotate(Count("pk"))
    )
    found = [
        _animal(partner, key, own, animals.get(key), nights.get(key, 0), columns, to_on)
        for key, own in by_animal.items()
    ]
    return tuple(sorted(found, key=lambda animal: (animal.name, animal.key)))


def _animal(
    partner: Partner, key: str, lines: list[ChargeLine], animal: Animal | None, days: int, columns: tuple[str, ...],
    on: date,
) -> AnimalMonth:  # fmt: skip
    paid: dict[str, int] = defaultdict(int)
    kinds: dict[str, int] = defaultdict(int)
    for line in lines:
        kinds[line.words] += line.asked_minor
        for payer in line.payers:
            paid[group_of(payer)] += payer.amount_minor
    return AnimalMonth(
        key=key,
        own_id=animal.pk if animal and animal.partner_id == partner.pk else None,
        name=(animal.name or animal.number) if animal else lines[0].subject_words,
        partner_number=animal.partner_number if animal else "",
        now=_now(animal, on) if animal else "",
        days=days,
        kinds=tuple(
            KindAsked(words=words, amount_minor=minor)
            for words, minor in sorted(kinds.items(), key=lambda item: (-item[1], item[0]))
            if minor
        ),
        usual_minor=sum(line.usual_minor for line in lines),
        asked_minor=sum(line.asked_minor for line in lines),
        paid=tuple(paid[words] for words in columns),
    )


def _now(animal: Animal, on: date) -> str:
    stays = [stay for stay in animal.stays.all() if stay.admitted_on <= on]
    last = max(stays, key=lambda stay: stay.admitted_on, default=None)
    if last is None:
        return ""
    if last.discharged_on is None or last.discharged_on > on:
        return "in care"
    return ", ".join(part for part in (f"left {day_words(last.discharged_on)}", left_words(last.left_to)) if part)


def day_words(on: date) -> str:
    return f"{on:%B} {on.day}"
