"""What time and what day it is. Only views and commands ask; everything below is told."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.conf import settings
from django.utils import timezone


def now() -> datetime:
    """Return the moment, aware; with AS_OF set, that date at the present time of day."""
    moment = timezone.now()
    if not settings.AS_OF:
        return moment
    fixed = date.fromisoformat(settings.AS_OF)
    return datetime.combine(fixed, time(hour=15, minute=moment.minute, second=moment.second), tzinfo=moment.tzinfo)


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
