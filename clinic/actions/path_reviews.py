"""Setting and dropping review points, and recording what went wrong on a path besides its operations.

DecisionRefused
└── ReviewRefused
    ├── FigureMissing    a review point has the figure of its kind
    ├── KeyUsedAgain     the key belongs to another review point
    ├── Dropped          it was dropped already
    └── EventImpossible  a day that has not come, or before the ways parted
"""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from uuid import UUID, uuid5

from django.db import transaction

from clinic.actions import care, history
from clinic.actions.path_decisions import DecisionRefused, open_path
from clinic.models import PathEvent, ReviewPoint, Service, TreatmentPath, User
from clinic.queries.plan_keys import plan_key

Kind, Finding = ReviewPoint.Kind, ReviewPoint.Finding


class ReviewRefused(DecisionRefused):
    """Nothing was set or recorded."""


class FigureMissing(ReviewRefused):
    field = "kind"


class KeyUsedAgain(ReviewRefused):
    pass


class Dropped(ReviewRefused):
    pass


class EventImpossible(ReviewRefused):
    field = "on"


@transaction.atomic
def set_point(
    *,
    key: UUID,
    path: TreatmentPath,
    kind: str,
    by: User,
    today: date,
    at: datetime,
    on: date | None = None,
    operations: int | None = None,
    limit_minor: int | None = None,
    finding: str = "",
    pain_over: Decimal | None = None,
    pain_of: Decimal | None = None,
) -> ReviewPoint:
    """Set a point at which somebody must decide; reaching it blocks nothing.

    The same key sent again returns the point it made.

    :raises FigureMissing: when the figure of its kind is missing, or a pain line has no scale.
    :raises KeyUsedAgain: when the key belongs to another review point.
    :raises PathEnded: when the path has ended.
    """
    known = ReviewPoint.objects.filter(key=key).first()
    if known:
        if (known.path_id, known.kind) == (path.pk, kind):
            return known
        raise KeyUsedAgain("This form was sent before with another review point. Open it again; nothing was set.")
    path = open_path(path=path)
    figures = {
        Kind.DAY: {"on": on},
        Kind.OPERATIONS: {"operations": operations},
        Kind.SPENDING: {"limit_minor": limit_minor},
        Kind.FINDING: {"finding": finding},
    }[Kind(kind)]
    if not all(figures.values()) or (limit_minor or 0) < 0:
        raise FigureMissing("Fill in the box that belongs to this kind of review point; nothing was set.")
    if finding == Finding.PAIN and kind == Kind.FINDING:
        if pain_over is None or not pain_of or not 0 <= pain_over < pain_of:
            raise FigureMissing("A line for pain has its scale, such as over 4 of 10; nothing was set.")
        figures |= {"pain_over": pain_over, "pain_of": pain_of}
    point = ReviewPoint.objects.create(key=key, path=path, kind=kind, set_on=today, set_by=by, set_at=at, **figures)
    said = {name: str(value) for name, value in figures.items()}
    history.note(animal=path.animal, what="review point", what_id=point.pk, by=by, at=at, after={"kind": kind, **said})
    return point


@transaction.atomic
def drop_point(*, point: ReviewPoint, by: User, at: datetime) -> ReviewPoint:
    """Drop a review point that is no longer wanted; it stays in the history.

    :raises Dropped: when somebody else dropped it before.
    """
    point = ReviewPoint.objects.select_for_update(of=("self",)).select_related("path__animal").get(pk=point.pk)
    if point.dropped_at:
        if point.dropped_by_id == by.pk:
            return point
        raise Dropped("This review point was dropped already. Nothing was changed.")
    point.dropped_at, point.dropped_by = at, by
    point.save(update_fields=["dropped_at", "dropped_by"])
    history.note(animal=point.path.animal, what="review point", what_id=point.pk, by=by, at=at, after={"dropped": True})
    return point


@transaction.atomic
def record_event(
    *,
    key: UUID,
    path: TreatmentPath,
    kind: str,
    on: date,
    words: str,
    by: User,
    today: date,
    at: datetime,
    service: Service | None = None,
    quantity: Decimal = Decimal(1),
    late_source: str = "",
) -> PathEvent:
    """Record a bandage injury or a complication. What its care took is charged to this path, even after its end.

    The same key sent again returns what it made.

    :raises EventImpossible: when the day has not come, or lies before the ways parted.
    """
    known = PathEvent.objects.filter(key=key).first()
    if known:
        if (known.path_id, known.kind, known.words) == (path.pk, kind, words):
            return known
        raise KeyUsedAgain("This form was sent before with something else. Open it again; nothing was recorded.")
    path = TreatmentPath.objects.select_related("animal").get(pk=path.pk)
    if path.parted_on is None or not path.parted_on <= on <= today:
        raise EventImpossible("It happens on a day that has come, after the path was chosen. Nothing was recorded.")
    item = None
    if service:
        item = care.record(
            key=uuid5(key, "care"),
            animal=path.animal,
            on=on,
            service=service,
            quantity=quantity,
            path_key=plan_key(path),
            late_source=late_source,
            by=by,
            today=today,
            at=at,
        )
    event = PathEvent.objects.create(
        key=key, path=path, kind=kind, on=on, words=words, care_item=item, recorded_by=by, recorded_at=at
    )
    history.note(animal=path.animal, what=kind, what_id=event.pk, by=by, at=at, after={"on": str(on), "words": words})
    return event
