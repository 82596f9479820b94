"""Published series that a vet may choose as a starting belief: always with n and source, never by default."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Series:
    words: str
    healed: int
    of: int
    source: str

    @property
    def in_100(self) -> int:
        """
        >>> SERIES[0].in_100
        94
        """
        return (200 * self.healed + self.of) // (2 * self.of)


SERIES = (
    Series(
        words="open healing of distal-limb wounds in dogs (median 53 days, range 25 to 179)",
        healed=29,
        of=31,
        source="Prpich 2014",
    ),
    Series(words="staged skin grafts that took", healed=18, of=22, source="Bonaventura 2021"),
    Series(words="single-session skin grafts that took", healed=27, of=30, source="Bonaventura 2021"),
)
