"""Donors with what they gave."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import zip_longest

from django.db.models import Count, Max, Q, Sum
from django.db.models.functions import Coalesce

from config import figures
from ledger.formulas.languages import LANGUAGES, PAPERS
from ledger.models import Donor, Gift, GiftReturn
from ledger.queries import one_donor

PAGE = 40
CHOICES = 60


@dataclass(frozen=True, kw_only=True)
class DonorLine:
    donor_id: int
    kind: str
    kind_words: str
    name: str
    address: str
    email: str
    note: str
    wants: str
    is_unnamed: bool
    language: str
    erased_on: date | None
    also: tuple[str, ...]  # the names of those who are read as one with this donor
    gifts: int
    given_minor: int
    last_on: date | None

    @property
    def language_words(self) -> str:
        return LANGUAGES.get(self.language, "")

    @property
    def reads_papers(self) -> bool:
        return self.language in ("", PAPERS)


@dataclass(frozen=True, kw_only=True)
class DonorPage:
    """Donors by name; `further` is where the next page begins: the number of this page's last donor."""

    rows: tuple[DonorLine, ...]
    further: str
    is_first: bool


def donors(*, asked: str = "", after: str = "") -> DonorPage:
    """Return a page of donors by name, those only whose name, address or e-mail holds `asked`; each one once."""
    rows = Donor.objects.filter(same_as=None)
    if asked:
        fits = Q(name__icontains=asked) | Q(address__icontains=asked) | Q(email__icontains=asked)
        rows = rows.filter(id__in=Donor.objects.filter(fits).values(one=Coalesce("same_as", "id")))
    last = Donor.objects.filter(id=number).first() if (number := figures.row_number(after)) else None
    if last:
        rows = rows.filter(Q(name__gt=last.name) | Q(name=last.name, id__gt=last.id))
    numbers = list(rows.order_by("name", "id").values_list("id", flat=True)[: PAGE + 1])
    return DonorPage(
        rows=lines(numbers=numbers[:PAGE]),
        further=str(numbers[PAGE - 1]) if len(numbers) > PAGE else "",
        is_first=last is None,
    )


def donor(*, donor_id: int) -> DonorLine | None:
    """Return a donor, under whichever of their ids they are asked for."""
    ids = one_donor.whole(donor_id=donor_id)
    return next(iter(lines(numbers=ids[:1])), None)


def choices(*, chosen: str = "") -> tuple[tuple[int, str], ...]:
    """Return the donors who were added or gave last as choices for a form, and the one who is chosen already."""
    added = Donor.objects.order_by("-id").values_list("id", flat=True)[:CHOICES]
    gave = Gift.objects.filter(donor__isnull=False).order_by("-id").values_list("donor", flat=True)[:CHOICES]
    wanted = dict.fromkeys(number for pair in zip_longest(gave, added) for number in pair if number)
    numbers = [*list(wanted)[:CHOICES], *([number] if (number := figures.row_number(chosen)) else [])]
    ones = Donor.objects.filter(id__in=numbers).values(one=Coalesce("same_as", "id"))
    rows = Donor.objects.filter(id__in=ones, erased_on=None)
    return tuple(rows.order_by("name", "id").values_list("id", "name"))


def lines(*, numbers: Sequence[int]) -> tuple[DonorLine, ...]:
    """Return these donors by name, each with what stayed of the money that they gave."""
    ids = Q(donor__in=numbers) | Q(donor__same_as__in=numbers)
    given = (
        Gift.objects.filter(ids)
        .values_list(one_donor.standing())
        .annotate(
            count=Count("id", filter=~Q(way=Gift.Way.OPENING)),
            money=Sum("amount_minor", filter=~Q(way__in=(Gift.Way.GOODS, Gift.Way.OPENING)), default=0),
            last=Max("received_on"),
        )
    )
    sums = {donor: rest for donor, *rest in given}
    back = GiftReturn.objects.filter(Q(gift__donor__in=numbers) | Q(gift__donor__same_as__in=numbers))
    went = dict(back.values_list(one_donor.standing("gift__donor")).annotate(total=Sum("amount_minor")))
    also: dict[int, list[str]] = {}
    for one, name in Donor.objects.filter(same_as__in=numbers).order_by("id").values_list("same_as", "name"):
        also.setdefault(one, []).append(name)
    return tuple(
        _line(row, *sums.get(row.id, (0, 0, None)), went.get(row.id, 0), also.get(row.id, []))
        for row in Donor.objects.filter(id__in=numbers).order_by("name", "id")
    )


def _line(row: Donor, gifts: int, money: int, last_on: date | None, back: int, also: list[str]) -> DonorLine:
    return DonorLine(
        donor_id=row.id,
        kind=row.kind,
        kind_words=Donor.Kind(row.kind).label,
        name=row.name,
        address=row.address,
        email=row.email,
        note=row.note,
        wants=row.wants,
        is_unnamed=row.is_unnamed,
        language=row.language,
        erased_on=row.erased_on,
        also=tuple(also),
        gifts=gifts,
        given_minor=money - back,
        last_on=last_on,
    )
