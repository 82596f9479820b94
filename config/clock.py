"""What time and what day it is. Only views and commands ask; everything below is told."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.conf import settings
from django.utils import timezone


def now() -> datetime:
    """Return the moment, aware; with AS_OF set, about 12:50 UTC of that date: morning in the demo's clinic.

    The day that passes meanwhile is told in its ten minutes, so that what comes later stands later.
    """
    moment = timezone.now()
    if not settings.AS_OF:
        return moment
    midnight = moment.replace(hour=0, minute=0, second=0, microsecond=0)
    fixed = datetime.combine(date.fromisoformat(settings.AS_OF), time(12, 45), tzinfo=moment.tzinfo)
    return fixed + (moment - midnight) / 144


def real_now() -> datetime:
    """Return the machine's own moment, whatever AS_OF says: for what is named after the moment of its making."""
    return timezone.now()


def today(zone: str) -> date:
    """Return the calendar date in the clinic's zone."""
    return now().astimezone(ZoneInfo(zone)).date()


def ward_date(moment: datetime, *, zone: str, turns_at_hour: int) -> date:
    """Return the ward's day at `moment`: it turns at a set hour, not at midnight.

    >>> from datetime import timezone
    >>> late = datetime(2026, 10, 15, 3, 30, tzinfo=timezone.utc)
    >>> ward_date(late, zone="UTC", turns_at_hour=4), ward_date(late, zone="UTC", turns_at_hour=3)
    (datetime.date(2026, 10, 14), datetime.date(2026, 10, 15))
    """
    return (moment.astimezone(ZoneInfo(zone)).replace(tzinfo=None) - timedelta(hours=turns_at_hour)).date()
