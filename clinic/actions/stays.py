"""Moving an animal, changing its boarding level, and discharging it."""

from datetime import date, datetime

from django.db import transaction

from clinic.actions import follow_ups, groups, history, path_results
from clinic.models import BoardingDay, BoardingLevel, CareItem, Place, Stay, StayLevel, User
from config.refusal import Refusal

DEAD = (Stay.LeftTo.DIED, Stay.LeftTo.EUTHANIZED)


class DischargedBeforeAdmission(Refusal):
    field = "discharged_on"


class DischargedInTheFuture(Refusal):
    field = "discharged_on"


class AlreadyDischarged(Refusal):
    pass


class CareAfterIt(Refusal):
    field = "as_visits"


class DaySignedSince(Refusal):
    field = "discharged_on"


class LevelBeforeAdmission(Refusal):
    field = "from_on"


@transaction.atomic
def discharge(
    *,
    stay: Stay,
    discharged_on: date,
    left_to: str,
    why: str,
    by: User,
    today: date,
    at: datetime,
    left_with: str = "",
    as_visits: bool = False,
    ask: tuple[int, str] | None = None,
) -> Stay:
    """End a stay; the day of discharge makes no night. The animal's orders end with it.

    `ask` plans a follow-up: how many days after it left, and what is asked. Of the dead nothing more is asked.

    :raises CareAfterIt: when care was given after that day, and nobody said `as_visits`: no night of it is taken (B3).
    :raises AlreadyDischarged: when the stay has ended, unless it is the same discharge sent again.
    :raises DischargedBeforeAdmission: when it would end before it began.
    :raises DischargedInTheFuture: when the day has not come yet.
    :raises DaySignedSince: when a night after that day is signed off already.
    """
    stay = Stay.objects.select_for_update().select_related("animal").get(pk=stay.pk)
    name = stay.animal.name or stay.animal.number
    if stay.discharged_on is not None:
        if (stay.discharged_on, stay.left_to) == (discharged_on, left_to):
            return stay
        raise AlreadyDischarged(f"{name} left on {stay.discharged_on}. Nothing was changed.")
    if discharged_on < stay.admitted_on:
        raise DischargedBeforeAdmission(
            f"{name} came on {stay.admitted_on}, so cannot have left on {discharged_on}. Nothing was saved."
        )
    if discharged_on > today:
        raise DischargedInTheFuture(f"{discharged_on} has not come yet. Discharge on the day; nothing was saved.")
    signed = BoardingDay.objects.filter(stay=stay, on__gte=max(discharged_on, _next(stay.admitted_on))).exists()
    if signed:
        raise DaySignedSince(
            f"A night of {name} on or after {discharged_on} is signed off. Choose the day after it; nothing was saved."
        )
    if (later := care_after(stay, discharged_on)) and not as_visits:
        raise CareAfterIt(
            f"{name} was given something {'once' if later == 1 else f'{later} times'} after {discharged_on}. No night "
            "of those days is taken: say that it came for visits, or correct the day it left. Nothing was saved."
        )
    stay.discharged_on, stay.left_to, stay.left_why, stay.left_with = discharged_on, left_to, why, left_with
    stay.save(update_fields=["discharged_on", "left_to", "left_why", "left_with"])
    groups.leave(animal=stay.animal, by=by, today=discharged_on, at=at)
    for order in stay.animal.orders.filter(stopped_on__isnull=True):
        order.stopped_on, order.stopped_by = discharged_on, by
        order.save(update_fields=["stopped_on", "stopped_by"])
    _end_path(stay, left_to, discharged_on, by, today, at)
    if left_to in DEAD:
        words = Stay.LeftTo(left_to).label
        follow_ups.drop_all(animal=stay.animal, why=words, on=discharged_on, by=by, at=at)
    elif ask:
        follow_ups.plan_after_stay(stay=stay, days_after=ask[0], words=ask[1], by=by, at=at)
    history.note(
        animal=stay.animal,
        what="stay",
        what_id=stay.pk,
        by=by,
        at=at,
        after={"discharged_on": str(discharged_on), "left_to": left_to},
        why=why,
    )
    return stay


def _end_path(stay: Stay, left_to: str, on: date, by: User, today: date, at: datetime) -> None:
    """An animal that died leaves its path too: an ending of its own, with all that an end frees (G4)."""
    path = stay.animal.paths.filter(ended_on__isnull=True).first()
    if path and left_to in DEAD and on >= (path.parted_on or path.planned_on):
        path_results.end(path=path, ending=left_to, on=on, by=by, today=today, at=at)


@transaction.atomic
def move(*, stay: Stay, place: Place, by: User, at: datetime, why: str = "") -> Stay:
    """Put the animal into another place; nights do not change."""
    before = stay.place.code if stay.place else ""
    if before == place.code:
        return stay
    stay.place = place
    stay.save(update_fields=["place"])
    history.note(
        animal=stay.animal,
        what="stay",
        what_id=stay.pk,
        by=by,
        at=at,
        before={"place": before},
        after={"place": place.code},
        why=why,
    )
    return stay


@transaction.atomic
def change_level(*, stay: Stay, level: BoardingLevel, from_on: date, by: User, at: datetime) -> StayLevel:
    """Board the animal at another level from a date on.

    :raises LevelBeforeAdmission: when the date lies before the stay.
    :raises DaySignedSince: when a night from that date on is signed off already.
    """
    stay = Stay.objects.select_for_update().select_related("animal").get(pk=stay.pk)
    name = stay.animal.name or stay.animal.number
    if from_on < stay.admitted_on:
        raise LevelBeforeAdmission(f"{name} came on {stay.admitted_on}. Choose that day or a later one.")
    if BoardingDay.objects.filter(stay=stay, on__gte=from_on).exists():
        raise DaySignedSince(f"A night of {name} from {from_on} on is signed off. Choose a later day.")
    before = stay.levels.filter(from_on__lte=from_on).order_by("-from_on").select_related("level").first()
    changed, _ = StayLevel.objects.update_or_create(stay=stay, from_on=from_on, defaults={"level": level})
    history.note(
        animal=stay.animal,
        what="stay",
        what_id=stay.pk,
        by=by,
        at=at,
        before={"level": before.level.name if before else ""},
        after={"level": level.name, "from_on": str(from_on)},
    )
    return changed


def care_after(stay: Stay, day: date) -> int:
    """Count the care given after `day`, which a discharge that day would leave as visits."""
    return CareItem.objects.filter(animal=stay.animal, on__gt=day, undone_at__isnull=True).count()


def _next(day: date) -> date:
    return date.fromordinal(day.toordinal() + 1)
