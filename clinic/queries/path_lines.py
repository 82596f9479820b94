"""The lines of a path's page: how the animal is, its operations, and the decisions kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from clinic.models import Animal, Observation, PathDecision, PathStep, TreatmentPath
from clinic.queries import path_plan
from clinic.queries.path_ahead import one_decimal
from clinic.queries.path_plan import PricedPath
from config.charts.drawing import written
from ledger.formulas import money

SPOKEN_FOR = (
    Observation.Kind.COMFORT,
    Observation.Kind.PAIN,
    Observation.Kind.APPETITE,
    Observation.Kind.LIMB_USE,
    Observation.Kind.WEIGHT,
)


@dataclass(frozen=True, kw_only=True)
class Welfare:
    """The latest word on one thing about the animal."""

    kind: str
    words: str
    on: date
    by: str

    @property
    def names_itself(self) -> bool:
        """Words such as "comfortable, sleeps through" need no "comfort" before them."""
        return self.words.lower().startswith(self.kind.lower())


@dataclass(frozen=True, kw_only=True)
class OperationLine:
    id: int
    number: int
    words: str
    in_100: str
    source: str
    days: int
    asked_minor: int
    price_words: str
    done_on: date | None
    result: str
    complication: str
    is_next: bool


@dataclass(frozen=True, kw_only=True)
class DecisionLine:
    on: date
    choice: str
    by: str
    why: str
    go_on_minor: int | None
    convert_minor: int | None
    kept_in_100: str


def state_words(path: TreatmentPath, last: str, healed: bool) -> str:
    if path.ended_on:
        return path.get_ending_display()
    if last == PathDecision.Choice.CONVERT:
        return "converted to the single procedure"
    if last == PathDecision.Choice.END:
        return "treatment ended"
    if healed:
        return "healed, in aftercare"
    return "on the staged path" if path.parted_on else "planned, not chosen yet"


def latest_note(animal: Animal, on: date) -> Welfare | None:
    notes = animal.observations.filter(on__lte=on, kind=Observation.Kind.NOTE).select_related("recorded_by")
    one = notes.order_by("on", "recorded_at").last()
    return Welfare(kind="note", words=one.words, on=one.on, by=one.recorded_by.name) if one else None


def welfare(animal: Animal, on: date) -> tuple[Welfare, ...]:
    latest: dict[str, Observation] = {}
    seen = animal.observations.filter(on__lte=on, kind__in=SPOKEN_FOR).select_related("recorded_by")
    seen = seen.filter(wound_reading__taken_back_at=None)
    for one in seen.order_by("on", "recorded_at"):
        latest[one.kind] = one
    return tuple(
        Welfare(kind=one.get_kind_display(), words=_observed(one), on=one.on, by=one.recorded_by.name)
        for kind in SPOKEN_FOR
        if (one := latest.get(kind))
    )


def _observed(one: Observation) -> str:
    parts = []
    if one.value is not None and one.kind != Observation.Kind.APPETITE:  # its words say it
        parts.append(f"{one.value.normalize():f}")
        parts += [f"of {one.maximum.normalize():f}"] if one.maximum is not None else []
        parts += [one.unit] if one.unit else []
    return ", ".join(words for words in (" ".join(parts), one.words) if words)


def left_out(priced: PricedPath) -> tuple[str, ...]:
    """Say what the steps with their days do not hold and what is still to come (question 3) does."""
    said, digits = [], money.minor_digits(priced.currency)
    after, single = priced.after_success, priced.single.step
    if after.cost_minor:
        days = f", {after.step.days} days" if after.step.days else ""
        said.append(f"what follows once it has healed{days}, {written(money.half_up(after.cost_minor), digits)}")
    if priced.complication_minor:
        each = money.half_up(priced.complication_minor / Fraction(single.complication_chance))
        said.append(
            f"the complication of the single procedure, {written(each, digits)} in "
            f"{one_decimal(Fraction(single.complication_chance) * 100)} of 100 cases: "
            f"{written(money.half_up(priced.complication_minor), digits)} on average"
        )
    return tuple(said)


def operations(priced: PricedPath) -> tuple[OperationLine, ...]:
    following = priced.left[0].step.pk if priced.left else None
    return tuple(operation(one, is_next=one.step.pk == following) for one in priced.operations)


def operation(one: path_plan.PricedStep, *, is_next: bool) -> OperationLine:
    step = one.step
    return OperationLine(
        id=step.pk,
        number=step.position,
        words=one.words,
        in_100=one_decimal(Fraction(step.chance) * 100) if step.chance is not None else "",
        source=_source(step),
        days=step.days,
        asked_minor=money.half_up(one.cost_minor),
        price_words=one.price_words,
        done_on=step.done_on,
        result=step.get_result_display() if step.result else "",
        complication=step.complication,
        is_next=is_next,
    )


def _source(step: PathStep) -> str:
    if not step.chance_source:
        return ""
    known = [
        step.get_chance_source_display(),
        f"from {step.chance_n} cases" if step.chance_n else "",
        step.chance_words,
    ]
    return "; ".join(words for words in known if words)


def decision(one: PathDecision) -> DecisionLine:
    kept = one.figures
    go_on = kept.get("go_on")
    return DecisionLine(
        on=one.decided_on,
        choice=one.get_choice_display(),
        by=" and ".join(dict.fromkeys(person.name for person in (one.vet, one.manager) if person)),
        why=one.why,
        go_on_minor=go_on["expected_minor"] if go_on else None,
        convert_minor=kept["convert"]["expected_minor"] if "convert" in kept else None,
        kept_in_100=one_decimal(Fraction(go_on["kept"]) * 100) if go_on else "",
    )
