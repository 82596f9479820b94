"""One animal's treatment path as its page shows it, from the five questions to the decisions kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from clinic.formulas.path_figures import Figures
from clinic.models import Animal, House, PathDecision, TreatmentPath
from clinic.queries import (
    compare_paths,
    path_ahead,
    path_cover,
    path_funds,
    path_learning,
    path_lines,
    path_plan,
    path_reviews,
    path_so_far,
)
from clinic.queries.approvals import ApprovalLine, OwnerLine, approvals_of_path, owner_of
from clinic.queries.path_ahead import Ahead
from clinic.queries.path_extra import Extra, extra
from clinic.queries.path_funds import Carried
from clinic.queries.path_learning import HealingDays, LearnedLine
from clinic.queries.path_lines import DecisionLine, OperationLine, Welfare
from clinic.queries.path_plan import PricedPath
from clinic.queries.path_reviews import EventLine, ReviewLine
from clinic.queries.path_sensitivity import Sensitivity, sensitivity_of
from clinic.queries.path_so_far import SoFar
from clinic.queries.plan_keys import plan_key, plans_of
from clinic.queries.wounds import WoundStory, wound_story
from config import charts
from ledger.formulas import money
from ledger.queries import holder, leftovers, plan_money
from ledger.queries.leftovers import LeftoverFund
from ledger.queries.plan_money import PlanMoney


@dataclass(frozen=True, kw_only=True)
class PathPage:
    """Everything the page of a path says. Without money (`sees_money` false) no amount is in it."""

    id: int
    animal_id: int
    animal: str
    animal_words: str
    name: str
    keeps: str
    state: str
    planned_on: date
    planned_by: str
    parted_on: date | None
    ended_on: date | None
    is_open: bool
    is_chosen: bool
    is_decided: bool  # converted or ended by a decision: nothing is left to choose
    has_healed: bool
    currency: str
    welfare: tuple[Welfare, ...]
    note: Welfare | None  # the latest note, whatever it speaks of
    wound: WoundStory | None
    operations: tuple[OperationLine, ...]
    single: OperationLine
    sees_money: bool
    so_far: SoFar | None
    ahead: Ahead | None
    obstacle: str
    extra: Extra | None
    by_wound: bool  # the days of the next operation are those until the wound closes at its pace
    left: tuple[LeftoverFund, ...]  # of an ended path: funds that name the animal, with money in them
    learned: tuple[LearnedLine, ...]
    healing: HealingDays | None
    sensitivity: Sensitivity | None
    one_more: Carried | None
    convert: Carried | None
    left_out: tuple[str, ...]  # what question 3 counts and a step with its days does not
    cover_chart: charts.Chart | None  # until when the money carries the next operation
    decisions: tuple[DecisionLine, ...]
    cautions: tuple[str, ...]
    approvals: tuple[ApprovalLine, ...]
    owner: OwnerLine
    money: PlanMoney | None
    reviews: tuple[ReviewLine, ...]
    events: tuple[EventLine, ...]

    @property
    def next_operation(self) -> OperationLine | None:
        return next((line for line in self.operations if line.is_next), None)

    @property
    def is_earlier(self) -> bool:
        """From before the opening: nobody decided anything here, and it has no money."""
        return not self.is_open and not self.decisions and self.sees_money

    @property
    def due(self) -> tuple[ReviewLine, ...]:
        return tuple(line for line in self.reviews if line.state == "due")

    @property
    def both_carried(self) -> tuple[Carried, ...]:
        return tuple(carried for carried in (self.one_more, self.convert) if carried)


def path_page(*, path: TreatmentPath, on: date, sees_money: bool, house: House, wound_days: bool = False) -> PathPage:
    """Return a path's page as of a day; with `wound_days` the next operation lasts until the wound may close."""
    books = holder.holder()
    currency = books.currency if books else "XXX"
    priced = path_plan.priced(path=path, on=on, currency=currency)
    wound = wound_story(animal=path.animal, on=on)
    by_wound = bool(wound_days and wound and wound.closing and wound.closing.on > on)
    if by_wound and wound and wound.closing:
        priced = path_plan.with_days(priced=priced, days=(wound.closing.on - on).days)
    decisions = decisions_of(path)
    found = path_plan.figures(priced=priced)
    chosen = bool(path.parted_on)
    last = decisions[-1].choice if decisions else ""
    decided = last in (PathDecision.Choice.CONVERT, PathDecision.Choice.END)
    shows_ahead = sees_money and path.ended_on is None and not decided
    learned = path_learning.learned(priced=priced) if found and shows_ahead else ()
    one_more = path_funds.carried(priced=priced, step=priced.left[0], on=on) if found and shows_ahead else None
    far = path_so_far.so_far(priced=priced, decisions=decisions, on=on, house=house) if sees_money else None
    return PathPage(
        id=path.pk,
        animal_id=path.animal_id,
        animal=path.animal.name or path.animal.number,
        animal_words=_animal_words(path.animal),
        name=path.name,
        keeps=path.keeps,
        state=path_lines.state_words(path, last, priced.has_healed),
        planned_on=path.planned_on,
        planned_by=path.planned_by.name,
        parted_on=path.parted_on,
        ended_on=path.ended_on,
        is_open=path.ended_on is None,
        is_chosen=chosen,
        is_decided=decided,
        has_healed=priced.has_healed,
        currency=currency,
        welfare=path_lines.welfare(path.animal, on),
        note=path_lines.latest_note(path.animal, on),
        wound=wound,
        operations=path_lines.operations(priced),
        single=path_lines.operation(priced.single, is_next=False),
        sees_money=sees_money,
        so_far=far,
        ahead=path_ahead.ahead(priced=priced, found=found) if found and shows_ahead else None,
        extra=extra(priced=priced, found=found) if found and shows_ahead else None,
        by_wound=by_wound,
        left=leftovers.of_subject(subject_key=path.animal.key) if sees_money and path.ended_on else (),
        learned=learned,
        healing=path_learning.healing_days(species=path.animal.species, on=on) if sees_money else None,
        sensitivity=sensitivity_of(priced=priced, learned=learned, even=found.even) if learned and found else None,
        obstacle=priced.obstacle if shows_ahead and not priced.has_healed else "",
        one_more=one_more,
        convert=path_funds.carried(priced=priced, step=priced.single, on=on) if found and shows_ahead else None,
        left_out=path_lines.left_out(priced) if shows_ahead else (),
        cover_chart=path_cover.drawn(
            cover=one_more.cover, words=path_ahead.low(one_more.words), digits=money.minor_digits(currency)
        )
        if one_more
        else None,
        decisions=tuple(path_lines.decision(one) for one in decisions) if sees_money else (),
        cautions=_cautions(priced, found),
        approvals=approvals_of_path(path=path) if sees_money else (),
        owner=owner_of(animal=path.animal, on=on),
        money=plan_money.plan_money(plan_key=plan_key(path)) if sees_money else None,
        reviews=reviews(priced=priced, decisions=decisions, far=far, on=on) if sees_money else (),
        events=path_reviews.events(paths=plans_of(path)),
    )


def reviews(
    *, priced: PricedPath, decisions: Sequence[PathDecision], far: SoFar | None, on: date
) -> tuple[ReviewLine, ...]:
    """Return the review points of a path that is neither decided nor ended."""
    path = priced.path
    last = decisions[-1].choice if decisions else ""
    if path.ended_on or last in (PathDecision.Choice.CONVERT, PathDecision.Choice.END):
        return ()
    return path_reviews.reviews(
        path=path,
        paths=plans_of(path),
        decisions=decisions,
        running=far.went if far else (),
        convert_minor=money.half_up(priced.single.cost_minor + priced.complication_minor),
        currency=priced.currency,
        on=on,
    )


def _cautions(priced: PricedPath, found: Figures | None) -> tuple[str, ...]:
    ahead = path_plan.plan(priced=priced)
    return compare_paths.cautions(plan=ahead, even=found.even) if ahead and found else compare_paths.ALWAYS


def path_of(*, animal: Animal) -> TreatmentPath | None:
    """Return the animal's open path, or the one that ended last."""
    paths = TreatmentPath.objects.filter(animal=animal).select_related("animal__partner", "planned_by")
    return paths.filter(ended_on__isnull=True).first() or paths.order_by("ended_on", "pk").last()


def decisions_of(path: TreatmentPath) -> Sequence[PathDecision]:
    """Return the decisions on this path and on those it replaced: the first of all froze the single procedure."""
    found = PathDecision.objects.filter(path__in=plans_of(path)).select_related("vet", "manager")
    return list(found.order_by("decided_on", "id"))


def _animal_words(animal: Animal) -> str:
    known = [
        animal.species,
        animal.get_sex_display() if animal.sex != Animal.Sex.UNKNOWN else "",
        f"No. {animal.number}",
    ]
    return " · ".join(word for word in (*known, animal.partner.name if animal.partner else "") if word)
