"""The diary of the demo as it is written in fixtures/, read into plain values."""

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from clinic.queries import starting_prices
from clinic.queries.starting_prices import StartingPrice

_DEMO = UUID("1c0d7d3e-52f5-4f7e-8a52-6b9d0f1f2a10")


def key(words: str) -> UUID:
    """Return the key of something in the demo, the same at every building."""
    return uuid5(_DEMO, words)


@dataclass(frozen=True)
class Diary:
    """The two files, the day that offsets are counted from, and the clinic's zone."""

    says: dict[str, Any]
    prices: tuple[StartingPrice, ...]
    as_of: date

    @property
    def first(self) -> date:
        return self.day(self.says["opening"])

    def day(self, offset: int) -> date:
        return self.as_of + timedelta(days=offset)

    def moment(self, on: date, hour: int, minute: int = 0) -> datetime:
        return datetime.combine(on, time(hour, minute), ZoneInfo(self.says["house"]["zone"]))

    def days(self) -> Iterator[date]:
        day = self.first
        while day <= self.as_of:
            yield day
            day += timedelta(days=1)


def read(folder: Path, *, as_of: date) -> Diary:
    return Diary(
        says=tomllib.loads((folder / "demo.toml").read_text()),
        prices=starting_prices.read(folder / "prices.toml"),
        as_of=as_of,
    )


def minor(amount: str) -> int:
    """Read an amount of the diary; its currency has two digits.

    >>> minor("12.50"), minor("1450.00")
    (1250, 145000)
    """
    return int(Decimal(amount) * 100)


def repeated(gift: dict[str, Any]) -> Iterator[int]:
    """Return the offsets on which a gift comes: once, or each so many days.

    >>> list(repeated({"day": -9})), list(repeated({"day": -90, "every": 30, "until": -10}))
    ([-9], [-90, -60, -30])
    """
    yield from range(gift["day"], gift.get("until", gift["day"]) + 1, gift.get("every", 1))
