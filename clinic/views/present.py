"""What a view tells its action and query: the house, the moment, today by the calendar and by the ward."""

from dataclasses import dataclass
from datetime import date, datetime

from clinic.models import House
from config import clock


@dataclass(frozen=True)
class Present:
    house: House
    at: datetime
    today: date  # the calendar's, for money and papers
    ward: date  # the ward's: it turns at the ward's hour


def read() -> Present:
    house = House.objects.get()
    at = clock.now()
    return Present(
        house=house,
        at=at,
        today=clock.today(house.time_zone),
        ward=clock.ward_date(at, zone=house.time_zone, turns_at_hour=house.ward_turns_at),
    )
