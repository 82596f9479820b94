"""What care cost over all animals in a period, what of it was given, by whom it was had, and the dearest cases."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from clinic.models import Animal, Partner, Stay
from ledger.formulas import money
from ledger.queries import care_costs, holder
from ledger.queries.care_costs import CareSum

DEAREST, REASONS_SHOWN = 10, 15
NO_PARTNER, NO_REASON = "without a partner", "no reason was written"


@dataclass(frozen=True)
class GivenLine:
    """What the clinic gave: three lines that are never mixed (C3); donated goods are somebody else's gift."""

    words: str
    cost_minor: int
    usual_minor: int
    asked_minor: int
    discount_minor: int
    time_minor: int
    taken_minor: int
    goods_minor: int

    @property
    def given_minor(self) -> int:
        return self.discount_minor + self.time_minor + self.taken_minor


@dataclass(frozen=True)
class GroupLine:
    """Animals of one species, or here for one reason: what they cost, each and for each day of care."""

    words: str
    animals: int
    days: int
    cost_minor: int
    usual_minor: int
    asked_minor: int
    per_animal_minor: int
    per_day_minor: int


@dataclass(frozen=True)
class Case:
    animal_id: int | None
    name: str
    number: str
    species: str
    reason: str
    partner: str
    days: int
    cost_minor: int
    usual_minor: int
    asked_minor: int
    given_minor: int
    why: str  # "procedures 62 %, boarding 30 %"


@dataclass(frozen=True)
class CostReport:
    from_on: date
    to_on: date
    months: tuple[GivenLine, ...]
    partners: tuple[GivenLine, ...]
    together: GivenLine
    species: tuple[GroupLine, ...]
    reasons: tuple[GroupLine, ...]
    all: GroupLine
    dearest: tuple[Case, ...]


@dataclass(frozen=True)
class _Facts:
    """What one report is made of, each read once."""

    sums: Sequence[CareSum]
    taken: Sequence[care_costs.TakenOver]
    days: dict[str, int]
    animals: dict[str, tuple[int, str, str, str]]  # id, name, number, species
    reasons: dict[int, str]
    partners: dict[str, str]


def cost_report(*, from_on: date, to_on: date) -> CostReport:
    """Return the report of a period by day of care; the number of reads does not grow with it."""
    facts = _read(from_on, to_on)
    months = _given(facts, heading=lambda one: one.month, words=_month)
    partners = _given(facts, heading=lambda one: one.party_key, words=lambda key: facts.partners.get(key, NO_PARTNER))
    per_animal = _by_animal(facts)
    every = _cases(facts, per_animal)
    return CostReport(
        from_on=from_on,
        to_on=to_on,
        months=tuple(months),
        partners=tuple(sorted(partners, key=lambda line: -line.given_minor)),
        together=_sum("Together", months),
        species=_groups(every, lambda case: case.species),
        reasons=_few(_groups(every, lambda case: case.reason), every),
        all=_group("Together", every),
        dearest=tuple(every[:DEAREST]),
    )


def case_rows(*, from_on: date, to_on: date) -> list[tuple[str | int | Decimal, ...]]:
    """Return every animal with care in the period as the rows of a file, the dearest first."""
    facts = _read(from_on, to_on)
    currency = holder.holder().currency
    return [
        (
            case.number, case.name, case.species, case.reason, case.partner, case.days,
            *(
                money.from_minor(minor, currency)
                for minor in (case.cost_minor, case.usual_minor, case.asked_minor, case.given_minor)
            ),
        )
        for case in _cases(facts, _by_animal(facts))
    ]  # fmt: skip


HEADS = (
    "Number", "Animal", "Species", "Here for", "Partner", "Days of care", "Cost", "Usual fee", "Asked",
    "Given by the clinic",
)  # fmt: skip


def _read(from_on: date, to_on: date) -> _Facts:
    stays = Stay.objects.filter(admitted_on__lte=to_on).order_by("admitted_on")
    return _Facts(
        sums=list(care_costs.care_sums(from_on=from_on, to_on=to_on)),
        taken=care_costs.taken_over(from_on=from_on, to_on=to_on),
        days=care_costs.days_of_care(from_on=from_on, to_on=to_on),
        animals={key: facts for key, *facts in Animal.objects.values_list("key", "pk", "name", "number", "species")},
        reasons=dict(stays.values_list("animal_id", "admitted_for")),  # the last stay remains
        partners=dict(Partner.objects.values_list("key", "name")),
    )


def _month(month: str) -> str:
    return f"{date.fromisoformat(f'{month}-01'):%B %Y}"


def _given(facts: _Facts, *, heading: Callable, words: Callable[[str], str]) -> list[GivenLine]:
    """Sum the care and what was taken over under one heading, in its order."""
    found: dict[str, list[int]] = defaultdict(lambda: [0] * 7)
    for one in facts.sums:
        line = found[heading(one)]
        line[0] += one.cost_minor
        line[1] += one.usual_minor
        line[2] += one.asked_minor
        line[3] += one.discount_minor
        line[4] += one.time_minor
        line[6] += one.goods_minor
    for taken in facts.taken:
        found[heading(taken)][5] += taken.amount_minor
    return [GivenLine(words(key), *found[key]) for key in sorted(found)]


def _sum(words: str, lines: Iterable[GivenLine]) -> GivenLine:
    lines = list(lines)
    names = [name for name in GivenLine.__dataclass_fields__ if name != "words"]
    return GivenLine(words, *(sum(getattr(line, name) for line in lines) for name in names))


def _by_animal(facts: _Facts) -> dict[str, dict[str, list[int]]]:
    """Return for each animal, by kind of care: cost, usual fee, asked, given."""
    found: dict[str, dict[str, list[int]]] = defaultdict(lambda: defaultdict(lambda: [0] * 4))
    for one in facts.sums:
        figures = found[one.subject_key][one.kind]
        figures[0] += one.cost_minor
        figures[1] += one.usual_minor
        figures[2] += one.asked_minor
        figures[3] += one.given_minor
    return found


def _cases(facts: _Facts, per_animal: dict[str, dict[str, list[int]]]) -> list[Case]:
    taken: dict[str, int] = defaultdict(int)
    for one in facts.taken:
        taken[one.subject_key] += one.amount_minor
    party = {one.subject_key: one.party_key for one in facts.sums}
    cases = [
        _case(facts, key, kinds, facts.partners.get(party[key], NO_PARTNER), taken[key])
        for key, kinds in per_animal.items()
    ]
    return sorted(cases, key=lambda case: (-case.cost_minor, case.number))


def _case(facts: _Facts, key: str, kinds: dict[str, list[int]], partner: str, taken: int) -> Case:
    animal_id, name, number, species = facts.animals.get(key, (None, "", key, "unknown"))
    cost, usual, asked, given = (sum(figures[place] for figures in kinds.values()) for place in range(4))
    return Case(
        animal_id=animal_id,
        name=name or number,
        number=number,
        species=species,
        reason=(facts.reasons.get(animal_id or 0) or NO_REASON).strip(),
        partner=partner,
        days=facts.days.get(key, 0),
        cost_minor=cost,
        usual_minor=usual,
        asked_minor=asked,
        given_minor=given + taken,
        why=_why({kind: figures[0] for kind, figures in kinds.items()}, cost),
    )


def _why(kinds: dict[str, int], cost: int) -> str:
    """Name the kinds of care that make most of a cost, with their part of it."""
    largest = sorted((pair for pair in kinds.items() if pair[1] > 0), key=lambda pair: -pair[1])[:3]
    parts = [(care_costs.kind_words(kind).lower(), Fraction(100 * minor, cost)) for kind, minor in largest]
    return ", ".join(f"{words} {money.half_up(percent)} %" for words, percent in parts)


def _groups(cases: Sequence[Case], heading: Callable[[Case], Hashable]) -> tuple[GroupLine, ...]:
    found: dict[Hashable, list[Case]] = defaultdict(list)
    for case in cases:
        found[heading(case)].append(case)
    return tuple(
        sorted((_group(str(words), group) for words, group in found.items()), key=lambda line: -line.cost_minor)
    )


def _group(words: str, cases: Sequence[Case]) -> GroupLine:
    cost, days = sum(case.cost_minor for case in cases), sum(case.days for case in cases)
    return GroupLine(
        words=words,
        animals=len(cases),
        days=days,
        cost_minor=cost,
        usual_minor=sum(case.usual_minor for case in cases),
        asked_minor=sum(case.asked_minor for case in cases),
        per_animal_minor=money.half_up(Fraction(cost, len(cases))) if cases else 0,
        per_day_minor=money.half_up(Fraction(cost, days)) if days else 0,
    )


def _few(lines: tuple[GroupLine, ...], cases: Sequence[Case]) -> tuple[GroupLine, ...]:
    """Keep the dearest reasons and put the others into one line that still adds up."""
    if len(lines) <= REASONS_SHOWN + 1:
        return lines
    kept = {line.words for line in lines[:REASONS_SHOWN]}
    others = [case for case in cases if case.reason not in kept]
    return (*lines[:REASONS_SHOWN], _group(f"{len(lines) - REASONS_SHOWN} other reasons", others))
