"""The starting price list as it is written in fixtures/prices.toml, read into plain values."""

import tomllib
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path


@dataclass(frozen=True)
class StartingPrice:
    code: str
    name: str
    kind: str  # "boarding" for a level
    unit: str
    minutes: int
    cost: Decimal
    usual_fee: Decimal
    asked: Decimal
    kit: tuple[tuple[str, str, str, Decimal], ...] = ()  # supplies: code, name, unit, quantity
    follow_ups: tuple[tuple[int, str, str], ...] = ()  # days after, kind, what is asked


def read(file: Path) -> tuple[StartingPrice, ...]:
    """Return the list in its order: boarding levels first, then services with their kits."""
    said = tomllib.loads(file.read_text())
    levels = [
        StartingPrice(
            code=level["code"],
            name=level["name"],
            kind="boarding",
            unit="day",
            minutes=level["minutes"],
            cost=Decimal(level["cost"]),
            usual_fee=Decimal(level["usual"]),
            asked=Decimal(level["asked"]),
        )
        for level in said["level"]
    ]
    kits = {
        code: tuple((supply, name, unit, Decimal(quantity)) for supply, name, unit, quantity in lines)
        for code, lines in said["kits"].items()
    }
    asked_after = {
        code: tuple((days, kind, words) for days, kind, words in of) for code, of in said["follow_ups"].items()
    }
    services = [
        StartingPrice(
            code,
            name,
            kind,
            unit,
            minutes,
            Decimal(cost),
            Decimal(usual),
            Decimal(asked),
            kits.get(code, ()),
            asked_after.get(code, ()),
        )
        for code, (name, kind, unit, cost, usual, asked, minutes) in said["services"].items()
    ]
    return (*levels, *services)
