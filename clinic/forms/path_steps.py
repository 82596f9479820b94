"""What a person said about the steps of a treatment path, cleaned and not yet checked against each other."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from clinic.models import BoardingLevel, Service


@dataclass(frozen=True, kw_only=True)
class StepSaid:
    """What a person said about one step of a path."""

    service: Service | None = None
    typed_cost: Decimal | None = None  # what it asks, where it is not the price list's
    days: int = 0
    level: BoardingLevel | None = None
    daily_service: Service | None = None  # the dressing of each day


@dataclass(frozen=True, kw_only=True)
class OperationSaid(StepSaid):
    chance: Decimal
    chance_source: str
    chance_words: str = ""
    chance_n: int | None = None
    chance_low: Decimal | None = None  # the chance's own range, where somebody gave one
    chance_high: Decimal | None = None
    days_low: int | None = None
    days_high: int | None = None


@dataclass(frozen=True, kw_only=True)
class SingleSaid(StepSaid):
    complication_chance: Decimal = Decimal(0)
    complication_cost: Decimal = Decimal(0)


@dataclass(frozen=True, kw_only=True)
class EarlierOperation:
    """An operation from before the house opened: nobody knows any more what was expected of it."""

    service: Service
    done_on: date
    result: str  # PathStep.Result
    complication: str = ""
