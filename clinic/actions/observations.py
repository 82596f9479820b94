"""How an animal is, in figures: pain with its scale, appetite, weight, a wound reading; facts without price.

Refusal
└── ObservationRefused
    ├── NothingSeen       the form is empty
    ├── PainWithoutScale  a pain score says of how many
    ├── WoundNotRead      figures that no wound has
    ├── TwoMethods        a wound is read by one method throughout
    ├── ReadAlready       the wound has its reading of that day
    └── ReadingTakenBack
"""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from uuid import UUID, uuid5

from django.db import transaction

from clinic.actions import care, history
from clinic.forms.observed import WoundSaid
from clinic.formulas import healing
from clinic.models import Animal, Observation, User, WoundReading
from config.refusal import Refusal

Kind, Method = Observation.Kind, WoundReading.Method


class ObservationRefused(Refusal):
    """Nothing was written down."""


class NothingSeen(ObservationRefused):
    pass


class PainWithoutScale(ObservationRefused):
    field = "pain_of"


class WoundNotRead(ObservationRefused):
    field = "length_mm"


class TwoMethods(ObservationRefused):
    field = "method"


class ReadAlready(ObservationRefused):
    field = "on"


class ReadingTakenBack(ObservationRefused):
    pass


@transaction.atomic
def observe(
    *,
    key: UUID,
    animal: Animal,
    on: date,
    by: User,
    today: date,
    at: datetime,
    comfort: str = "",
    pain: Decimal | None = None,
    pain_of: Decimal | None = None,
    appetite: tuple[int, str] | None = None,
    weight: Decimal | None = None,
    weighed: str = "",
    limb_use: str = "",
    wound: WoundSaid | None = None,
    note: str = "",
) -> list[Observation]:
    """Write down all that was seen of an animal at once; each thing is a fact of its own.

    The same key sent again writes nothing twice.

    :raises NothingSeen: when nothing is said.
    :raises PainWithoutScale: when a pain score has no scale, or lies beyond it.
    :raises WoundNotRead, TwoMethods, ReadAlready: when the reading is none, or does not fit its series.
    """
    if pain is not None and (not pain_of or not 0 <= pain <= pain_of):
        raise PainWithoutScale("Say of how many: a pain score means nothing without its scale, and lies within it.")
    said: list[tuple[str, dict]] = []
    if comfort:
        said.append((Kind.COMFORT, {"words": comfort}))
    if pain is not None:
        said.append((Kind.PAIN, {"value": pain, "maximum": pain_of}))
    if appetite:
        said.append((Kind.APPETITE, {"value": Decimal(appetite[0]), "words": appetite[1]}))
    if weight is not None:
        said.append((Kind.WEIGHT, {"value": weight, "unit": "kg", "words": weighed}))
    if limb_use:
        said.append((Kind.LIMB_USE, {"words": limb_use}))
    if note:
        said.append((Kind.NOTE, {"words": note}))
    if not said and not wound:
        raise NothingSeen("Nothing is filled in, so nothing was written down.")
    facts = {"animal": animal, "on": on, "by": by, "today": today, "at": at}
    written = [care.observe(key=uuid5(key, kind), kind=kind, **more, **facts) for kind, more in said]
    if wound:
        written.append(read_wound(key=uuid5(key, Kind.WOUND), said=wound, **facts).observation)
    return written


@transaction.atomic
def read_wound(
    *, key: UUID, animal: Animal, said: WoundSaid, on: date, by: User, today: date, at: datetime
) -> WoundReading:
    """Keep one reading of a wound; the readings of one wound are one series, by one method.

    :raises WoundNotRead: when no wound has such figures.
    :raises TwoMethods: when the wound was read by the other method before.
    :raises ReadAlready: when it has a reading of that day.
    """
    known = WoundReading.objects.filter(observation__key=key).select_related("observation").first()
    if known:
        return known
    try:
        reading = said.reading(on=on)
    except healing.WoundRefused as wrong:
        raise WoundNotRead(str(wrong)) from wrong
    Animal.objects.select_for_update().get(pk=animal.pk)
    before = WoundReading.objects.filter(observation__animal=animal, wound=said.wound, taken_back_at=None)
    other = before.exclude(method=said.method).first()
    if other:
        raise TwoMethods(
            f"“{said.wound}” is read by {Method(other.method).label} so far, and areas of two methods do not compare. "
            "Read it that way, or give the new series another name."
        )
    if before.filter(observation__on=on).exists():
        raise ReadAlready(f"“{said.wound}” has its reading of that day. Take that one back first if it is wrong.")
    area = (Decimal(reading.area) / 100).quantize(Decimal("0.001"))
    seen = care.observe(
        key=key,
        animal=animal,
        on=on,
        kind=Kind.WOUND,
        value=area,
        unit="cm²",
        words=said.words,
        by=by,
        today=today,
        at=at,
    )
    return WoundReading.objects.create(
        observation=seen,
        wound=said.wound,
        method=said.method,
        length_mm=said.length_mm,
        width_mm=said.width_mm,
        area_mm2=said.area_mm2,
        perimeter_mm=said.perimeter_mm,
    )


@transaction.atomic
def take_back(*, reading: WoundReading, by: User, at: datetime) -> WoundReading:
    """Take a mistyped reading out of its series; it stays in the history.

    :raises ReadingTakenBack: when somebody else took it back before.
    """
    reading = (
        WoundReading.objects.select_for_update(of=("self",)).select_related("observation__animal").get(pk=reading.pk)
    )
    if reading.taken_back_at:
        if reading.taken_back_by_id == by.pk:
            return reading
        raise ReadingTakenBack("This reading was taken back already. Nothing was changed.")
    reading.taken_back_at, reading.taken_back_by = at, by
    reading.save(update_fields=["taken_back_at", "taken_back_by"])
    history.note(
        animal=reading.observation.animal,
        what="wound reading",
        what_id=reading.pk,
        by=by,
        at=at,
        before={"words": reading.observation.words, "on": str(reading.observation.on)},
        after={"taken_back": True},
        why="taken back",
    )
    return reading
