"""Donors who may be one person: those with the same e-mail, or the same name and postcode. Nobody is merged by it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations

from config import home
from config.days import day_year
from config.templating import minor_text
from ledger.formulas.postcodes import alike, postcode
from ledger.models import Donor, DonorMerge, DonorsApart
from ledger.queries import donors
from ledger.queries.donors import DonorLine

SHOWN = 40
ALIKE_AT_MOST = 6  # more with one e-mail are an office, not one person


@dataclass(frozen=True, kw_only=True)
class Twins:
    """Two donors who look like one, and by what; the one with more gifts first."""

    one: DonorLine
    other: DonorLine
    by: str

    @property
    def rows(self) -> tuple[tuple[str, str, str], ...]:
        """What is known of either, side by side; lines where neither has anything are left out."""
        both = zip(_known(self.one), _known(self.other), strict=True)
        return tuple((words, one, other) for (words, one), (_, other) in both if one or other)


@dataclass(frozen=True, kw_only=True)
class TwinPage:
    pairs: tuple[Twins, ...]
    more: int


def twins() -> TwinPage:
    """Return the pairs of donors who look like one person and of whom nobody has said anything yet."""
    found = _pairs(Donor.objects.filter(same_as=None, erased_on=None))
    shown = dict(list(found.items())[:SHOWN])
    lines = {line.donor_id: line for line in donors.lines(numbers=[number for pair in shown for number in pair])}
    return TwinPage(
        pairs=tuple(_twins(lines[one], lines[other], by) for (one, other), by in shown.items()),
        more=len(found) - len(shown),
    )


def compared(*, one_id: int, other_id: int) -> Twins | None:
    """Return two donors side by side, or None where one is not there or both are one already."""
    one, other = donors.donor(donor_id=one_id), donors.donor(donor_id=other_id)
    if one is None or other is None or one.donor_id == other.donor_id or one.erased_on or other.erased_on:
        return None
    by = _pairs(Donor.objects.filter(id__in=(one.donor_id, other.donor_id)), again=True)
    return _twins(one, other, next(iter(by.values()), ""))


def _twins(one: DonorLine, other: DonorLine, by: str) -> Twins:
    first, second = sorted((one, other), key=lambda line: (-line.gifts, line.donor_id))
    return Twins(one=first, other=second, by=by)


def _known(line: DonorLine) -> tuple[tuple[str, str], ...]:
    return (
        ("Who gives", line.kind_words),
        ("Address", line.address),
        ("E-mail", line.email),
        ("Wants to get", Donor.Wants(line.wants).label if line.wants else ""),
        ("To be named", "no" if line.is_unnamed else ""),
        ("Language", line.language_words),
        ("Note", line.note),
        ("Merged with", ", ".join(line.also)),
        ("Gifts", str(line.gifts)),
        ("Given in money", minor_text(line.given_minor, home.digits())),
        ("Last gift", day_year(line.last_on) if line.last_on else ""),
    )


def _pairs(rows: Iterable[Donor], *, again: bool = False) -> dict[tuple[int, int], str]:
    """Return the pairs that are alike, each with by what; of those who were kept apart or undone only `again`."""
    by_email: dict[str, list[int]] = defaultdict(list)
    by_name: dict[tuple[str, str], list[int]] = defaultdict(list)
    for donor in rows:
        if donor.email:
            by_email[donor.email.casefold()].append(donor.id)
        if code := postcode(donor.address):
            by_name[alike(donor.name), code].append(donor.id)
    found: dict[tuple[int, int], str] = {}
    for group, by in [(by_email, "the same e-mail"), (by_name, "the same name and postcode")]:
        for numbers in group.values():
            for pair in combinations(sorted(numbers), 2) if len(numbers) <= ALIKE_AT_MOST else ():
                found[pair] = f"{found[pair]}, {by}" if pair in found else by
    apart = set() if again else _said()
    return {pair: by for pair, by in sorted(found.items()) if pair not in apart}


def _said() -> set[tuple[int, int]]:
    """Return the pairs about which somebody has said that they are two."""
    undone = DonorMerge.objects.filter(undone_on__isnull=False).values_list("donor", "into")
    return {*DonorsApart.objects.values_list("one", "other"), *((min(pair), max(pair)) for pair in undone)}
