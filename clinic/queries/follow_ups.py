"""Follow-ups: what is due and whom to call, an animal's own, what procedures usually ask for, and the results."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta

from django.db.models import Q

from clinic.models import Animal, Change, FollowUp, FollowUpPlan, Service, Stay
from clinic.queries.without_follow_up import LeftWithout, without_follow_up

AHEAD = timedelta(days=14)
KIND_WORDS = {"sutures": "sutures", "recheck": "recheck", "visit": "visit", "question": "ask"}  # as they are typed


@dataclass(frozen=True)
class Move:
    from_on: date
    why: str
    by: str


@dataclass(frozen=True)
class FollowUpLine:
    id: int
    animal_id: int
    animal: str
    number: str
    species: str
    kind: str
    words: str
    after: str  # the operation that it follows, or empty
    due_on: date
    days_late: int  # 0 when it is not overdue
    call: str  # whom to ask, as far as it is known
    result: str
    result_code: str
    result_words: str
    done_on: date | None
    done_by: str
    moves: tuple[Move, ...] = ()  # read for its own page alone, the oldest first


@dataclass(frozen=True)
class UsualLine:
    service_id: int
    name: str
    plans: tuple[str, ...]  # "after 12 days: Take the sutures out"


@dataclass(frozen=True)
class FollowUps:
    on: date
    overdue: tuple[FollowUpLine, ...]
    due: tuple[FollowUpLine, ...]
    coming: tuple[FollowUpLine, ...]
    later: int
    without: tuple[LeftWithout, ...]
    usual: tuple[UsualLine, ...]


@dataclass(frozen=True)
class ResultCount:
    code: str
    words: str
    count: int


@dataclass(frozen=True)
class FollowUpResults:
    """The results written down for a period; what nobody answered is one of them, what was dropped stands apart."""

    counts: tuple[ResultCount, ...]  # every result but "no longer asked", in their order
    dropped: int
    open: int  # due in the period and without a result

    @property
    def asked(self) -> int:
        return sum(one.count for one in self.counts)

    @property
    def lost(self) -> int:
        return next(one.count for one in self.counts if one.code == FollowUp.Result.LOST)


def follow_ups(*, on: date) -> FollowUps:
    """Return what is to be asked as of `on`: overdue first, those of one person to call beside each other."""
    lines = _lines(FollowUp.objects.filter(result="", due_on__lte=on + AHEAD), on)
    return FollowUps(
        on=on,
        overdue=_by_call([line for line in lines if line.due_on < on]),
        due=_by_call([line for line in lines if line.due_on == on]),
        coming=tuple(line for line in lines if line.due_on > on),
        later=FollowUp.objects.filter(result="", due_on__gt=on + AHEAD).count(),
        without=without_follow_up(on=on),
        usual=_usual(),
    )


def open_until(*, on: date) -> tuple[FollowUpLine, ...]:
    """Return what is due on `on` or overdue by then."""
    return _lines(FollowUp.objects.filter(result="", due_on__lte=on), on)


def of_animal(*, animal: Animal, on: date) -> tuple[FollowUpLine, ...]:
    """Return an animal's follow-ups: the open ones by their day, then the newest results."""
    lines = _lines(FollowUp.objects.filter(animal=animal), on)
    done = sorted((line for line in lines if line.result), key=lambda line: line.done_on or line.due_on, reverse=True)
    return (*(line for line in lines if not line.result), *done)


def follow_up(*, follow_up: FollowUp, on: date) -> FollowUpLine:
    """Return one follow-up with the days that it was moved from, and why."""
    moved = Change.objects.filter(animal=follow_up.animal_id, what="follow-up", what_id=follow_up.pk)
    moves = tuple(
        Move(date.fromisoformat(change.before["due_on"]), change.why, change.by.initials)
        for change in moved.select_related("by").order_by("pk")
        if "due_on" in change.before
    )
    return replace(_lines(FollowUp.objects.filter(pk=follow_up.pk), on)[0], moves=moves)


def follow_up_results(*, from_on: date, until_on: date) -> FollowUpResults:
    """Count the results of a period, both days included."""
    found = FollowUp.objects.exclude(result="").filter(done_on__gte=from_on, done_on__lte=until_on)
    counts = Counter(found.values_list("result", flat=True))
    return FollowUpResults(
        counts=tuple(
            ResultCount(code, words, counts[code])
            for code, words in FollowUp.Result.choices
            if code != FollowUp.Result.DROPPED
        ),
        dropped=counts[FollowUp.Result.DROPPED],
        open=FollowUp.objects.filter(result="", due_on__gte=from_on, due_on__lte=until_on).count(),
    )


def usual_words(*, service: Service) -> str:
    """Return what a procedure usually asks for, one to a line, as it is typed."""
    plans = service.follow_up_plans.order_by("days_after", "pk")
    return "\n".join(f"{plan.days_after} {KIND_WORDS[plan.kind]} {plan.words}" for plan in plans)


def whom_to_call(animal: Animal, stay: Stay | None) -> str:
    """Return who knows how an animal is: the ward, who took it, or the partner's contact."""
    if stay is not None and stay.discharged_on is None:
        return "in the ward"
    if stay is not None and stay.left_with:
        return stay.left_with
    if animal.partner is None:
        return ""
    return ", ".join(part for part in (animal.partner.name, animal.partner.phone or animal.partner.email) if part)


def _lines(found: Iterable[FollowUp], on: date) -> tuple[FollowUpLine, ...]:
    rows = list(
        found.select_related("animal__partner", "care_item__service", "done_by").order_by(
            "due_on", "animal__name", "pk"
        )
    )
    stays = {
        stay.animal_id: stay
        for stay in Stay.objects.filter(animal__in={row.animal_id for row in rows}).order_by("admitted_on", "pk")
    }
    return tuple(_line(row, stays.get(row.animal_id), on) for row in rows)


def _line(row: FollowUp, stay: Stay | None, on: date) -> FollowUpLine:
    item = row.care_item
    return FollowUpLine(
        id=row.pk,
        animal_id=row.animal_id,
        animal=row.animal.name or row.animal.number,
        number=row.animal.number,
        species=row.animal.species,
        kind=row.get_kind_display(),
        words=row.words,
        after=f"{item.service.name}, {item.on:%B} {item.on.day}" if item else "",
        due_on=row.due_on,
        days_late=0 if row.result else max((on - row.due_on).days, 0),
        call=whom_to_call(row.animal, stay),
        result=row.get_result_display(),
        result_code=row.result,
        result_words=row.result_words,
        done_on=row.done_on,
        done_by=row.done_by.initials if row.done_by else "",
    )


def _by_call(lines: list[FollowUpLine]) -> tuple[FollowUpLine, ...]:
    """Put those of one person beside each other: one call asks them all; the oldest comes first."""
    oldest: dict[str, date] = {}
    for line in lines:
        oldest.setdefault(line.call, line.due_on)
    return tuple(sorted(lines, key=lambda line: (oldest[line.call], line.call, line.due_on)))


def _usual() -> tuple[UsualLine, ...]:
    plans: dict[int, list[str]] = {}
    for plan in FollowUpPlan.objects.order_by("days_after", "pk"):
        after = "the day after" if plan.days_after == 1 else f"after {plan.days_after} days"
        plans.setdefault(plan.service_id, []).append(f"{after}: {plan.words}")
    procedures = Service.objects.filter(kind=Service.Kind.PROCEDURE).filter(
        Q(retired_on__isnull=True) | Q(pk__in=plans)
    )
    return tuple(UsualLine(one.pk, one.name, tuple(plans.get(one.pk, ()))) for one in procedures.order_by("name"))
