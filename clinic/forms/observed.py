"""What a person said about a wound, cleaned and not yet compared with its earlier readings."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from clinic.formulas import healing


@dataclass(frozen=True, kw_only=True)
class WoundSaid:
    """One reading: length and width, or a traced area with its outline where that was measured."""

    wound: str
    method: str  # WoundReading.Method
    length_mm: Decimal | None = None
    width_mm: Decimal | None = None
    area_mm2: Decimal | None = None
    perimeter_mm: Decimal | None = None

    @property
    def words(self) -> str:
        """Write what was measured.

        >>> WoundSaid(wound="left hock", method="axes", length_mm=Decimal("61.0"), width_mm=Decimal("32")).words
        '61 × 32 mm'
        """
        if self.method == "axes":
            return f"{plain(self.length_mm)} × {plain(self.width_mm)} mm"
        around = f", {plain(self.perimeter_mm)} mm around" if self.perimeter_mm else ""
        return f"traced, {plain(self.area_mm2)} mm²{around}"

    def reading(self, *, on: date) -> healing.Reading:
        if self.method == "axes":
            return healing.by_axes(on=on, length=float(self.length_mm or 0), width=float(self.width_mm or 0))
        around = float(self.perimeter_mm) if self.perimeter_mm else None
        return healing.traced(on=on, area=float(self.area_mm2 or 0), perimeter=around)


def plain(figure: Decimal | None) -> str:
    """
    >>> plain(Decimal("61.0")), plain(Decimal("61.5")), plain(None)
    ('61', '61.5', '0')
    """
    return f"{(figure or Decimal(0)).normalize():f}"
