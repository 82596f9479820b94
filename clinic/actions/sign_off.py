"""Signing off a day: its priced facts are sealed, charged and shared, all at once or not at all."""

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db import connection, transaction
from django.db.models import Q

from clinic.actions import stock_use
from clinic.models import (
    BoardingDay,
    BoardingLevel,
    CareItem,
    EveningSeen,
    House,
    SheetRow,
    Signing,
    Stay,
    User,
    WardSheet,
)
from clinic.queries import sign_off as preview
from clinic.queries.priced_day import PricedRow, priced_day
from config.refusal import Refusal
from ledger.actions import charges


class PreviewChanged(Refusal):
    """A fact, a price or a fund has moved since the preview was read."""


class NothingToSign(Refusal):
    pass


class NotAllSeen(Refusal):
    pass


class DayNotOver(Refusal):
    pass


@dataclass(frozen=True)
class Signed:
    signing: Signing
    rows: int
    lines: int
    asked_minor: int


@transaction.atomic
def sign(*, key: UUID, on: date, digest: str, by: User, today: date, at: datetime) -> Signed:
    """Seal the ready rows of `on`, charge them and share them over the payers, as the preview said that was read.

    The same key sent again returns what it signed. What is not ready stays behind.

    :raises DayNotOver: when the day has not come yet.
    :raises NotAllSeen: when it is today and the evening was not confirmed.
    :raises NothingToSign: when no row is ready, or the day is signed off already.
    :raises PreviewChanged: when the figures are no longer those that were read; nothing is posted.
    """
    return _sign(key=key, on=on, read=digest, by=by, today=today, at=at)


@transaction.atomic
def sign_unread(*, key: UUID, on: date, by: User, today: date, at: datetime) -> Signed:
    """Sign a day as it stands, for a command that nobody reads along; no page leads here.

    :raises Refusal: as `sign` does, but for a preview.
    """
    return _sign(key=key, on=on, read=None, by=by, today=today, at=at)


def _sign(*, key: UUID, on: date, read: str | None, by: User, today: date, at: datetime) -> Signed:
    sheet, _ = WardSheet.objects.select_for_update().get_or_create(on=on)
    known = Signing.objects.filter(key=key).first()
    if known:
        return Signed(known, known.rows.count(), known.care_items.count() + known.boarding_days.count(), 0)
    if on > today:
        raise DayNotOver(f"{on:%B} {on.day} has not come yet, so it cannot be signed off.")
    if on == today and not EveningSeen.objects.filter(sheet=sheet).exists():
        raise NotAllSeen("Today can be signed off after the evening is confirmed: all in care seen.")
    _hold(on)
    ready = [row for row in priced_day(on=on) if not row.obstacle]
    if not ready:
        raise NothingToSign(f"{on:%B} {on.day} has nothing left to sign off. Nothing was posted twice.")

    posted = charges.post_day(slips=preview.slips(ready), by=by.pk, today=today, at=at)
    digest = preview.digest(posted.shared, ready)
    if read not in (None, digest):
        raise PreviewChanged(
            "A fact, a price or a fund has changed since you read this page. Nothing was posted; "
            "the new figures are below."
        )
    signing = Signing.objects.create(key=key, on=on, digest=digest, by=by, at=at)
    _seal(sheet, ready, signing)
    stock_use.use_up(lines=[line for row in ready for line in row.lines], on=on, by=by, at=at)
    return Signed(
        signing=signing,
        rows=len(ready),
        lines=sum(len(row.lines) for row in ready),
        asked_minor=sum(one.slip.asked_minor for one in posted.shared),
    )


def _hold(on: date) -> None:
    """Let no price be set, nothing be counted and no stay of the day end meanwhile; SQLite writes one at a time."""
    if connection.features.has_select_for_update:
        list(House.objects.select_for_update())
        ends = Q(discharged_on__isnull=True) | Q(discharged_on__gte=on)
        list(Stay.objects.select_for_update().filter(ends, admitted_on__lte=on).order_by("pk").values_list("pk"))


def _seal(sheet: WardSheet, ready: list[PricedRow], signing: Signing) -> None:
    """Seal the rows' facts, the undone ones too; a row signed before keeps its first signing."""
    animals = [row.animal.pk for row in ready]
    BoardingDay.objects.bulk_create(
        BoardingDay(animal=row.animal, stay=row.stay, on=signing.on, level=level, signing=signing)
        for row in ready
        if row.boards and (level := BoardingLevel(pk=row.level_id))
    )
    CareItem.objects.filter(on=signing.on, animal__in=animals, signing__isnull=True).update(signing=signing)
    SheetRow.objects.bulk_create(
        SheetRow(sheet=sheet, animal=row.animal, signing=signing) for row in ready if not row.late
    )
