"""What of the animals nobody may forget: whom to ask after, who left without it, and who stays far beyond the usual."""

from collections.abc import Iterator
from datetime import date

from django.urls import reverse

from clinic.models import FollowUp, TreatmentPath
from clinic.queries.follow_ups import FollowUpLine, open_until
from clinic.queries.length_of_stay import length_of_stay
from clinic.queries.needs import Need, names
from clinic.queries.ward_in_numbers import LongStay, long_stays
from clinic.queries.without_follow_up import LeftWithout, without_follow_up

WHOSE = "ward, vet"


def needs_of_follow_up(*, on: date) -> Iterator[Need]:
    lines = open_until(on=on)
    overdue, due = [line for line in lines if line.days_late], [line for line in lines if not line.days_late]
    if overdue:
        yield _asked(overdue, "follow-up overdue", "follow-ups overdue", late=True)
    if due:
        yield _asked(due, "follow-up due today", "follow-ups due today", late=False)
    if without := without_follow_up(on=on):
        yield _without(without)
    if long := unwatched_stays(on=on):
        yield _long(long)


def unwatched_stays(*, on: date) -> tuple[LongStay, ...]:
    """Return the stays far beyond the usual that nobody is to look at: no follow-up is planned, no path is open."""
    long = long_stays(today=on, lengths=length_of_stay(as_of=on))
    animals = [stay.animal_id for stay in long]
    watched = {
        *FollowUp.objects.filter(animal__in=animals, result="").values_list("animal", flat=True),
        *TreatmentPath.objects.filter(animal__in=animals, ended_on=None).values_list("animal", flat=True),
    }
    return tuple(stay for stay in long if stay.animal_id not in watched)


def _asked(lines: list[FollowUpLine], one: str, many: str, *, late: bool) -> Need:
    said = [f"{line.animal} ({line.words})" for line in lines]
    only = reverse("clinic:follow_up", args=[lines[0].id]) if len(lines) == 1 else reverse("clinic:follow_ups")
    return Need(len(lines), one if len(lines) == 1 else many, f"{names(said, 3)}.", WHOSE, "Ask", only, late)


def _without(left: tuple[LeftWithout, ...]) -> Need:
    several = reverse("clinic:follow_ups") + "#without"
    return Need(
        len(left),
        "animal without a follow-up" if len(left) == 1 else "animals without a follow-up",
        f"Operated or on a path, gone, and nobody is to ask after them: {names([one.name for one in left])}.",
        WHOSE,
        "Plan one",
        reverse("clinic:follow_up_add", args=[left[0].animal_id]) if len(left) == 1 else several,
        False,
    )


def _long(long: tuple[LongStay, ...]) -> Need:
    """Say what is usual: the day by which nine in ten of the species have left."""
    said = [
        f"{stay.name} is here for {stay.days} days, and nine in ten of its kind have left by day {stay.usual_days}"
        for stay in long
    ]
    only = reverse("clinic:follow_up_add", args=[long[0].animal_id])
    return Need(
        len(long),
        "stay far beyond the usual" if len(long) == 1 else "stays far beyond the usual",
        f"{names(said, 2)}. Plan when to look again, or discharge.",
        WHOSE,
        "Plan a look",
        only if len(long) == 1 else reverse("clinic:ward_in_numbers") + "#long",
        False,
    )
