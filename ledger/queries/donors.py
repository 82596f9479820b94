"""Donors with what they gave."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import zip_longest

from django.db.models import Count, Max, Q, Sum

from ledger.models import Donor, Gift, GiftReturn
from ledger.queries.marks import row_number

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
    gifts: int
    given_minor: int
    last_on: object


@dataclass(frozen=True, kw_only=True)
class DonorPage:
    """Donors by name; `further` is where the next page begins: the number of this page's last donor."""

    rows: tuple[DonorLine, ...]
    further: str
    is_first: bool


def donors(*, asked: str = "", after: str = "") -> DonorPage:
    """Return a page of donors by name, those only whose name, address or e-mail holds `asked`."""
    rows = Donor.objects.all()
    if asked:
        rows = rows.filter(Q(name__icontains=asked) | Q(address__icontains=asked) | Q(email__icontains=asked))
    last = Donor.objects.filter(id=number).first() if (number := row_number(after)) else None
    if last:
        rows = rows.filter(Q(name__gt=last.name) | Q(name=last.name, id__gt=last.id))
    numbers = list(rows.order_by("name", "id").values_list("id", flat=True)[: PAGE + 1])
    return DonorPage(
        rows=_lines(numbers[:PAGE]),
        further=str(numbers[PAGE - 1]) if len(numbers) > PAGE else "",
        is_first=last is None,
    )


def donor(*, donor_id: int) -> DonorLine | None:
    return next(iter(_lines([donor_id])), None)


def choices(*, chosen: str = "") -> tuple[tuple[int, str], ...]:
    """Return the donors who were added or gave last as choices for a form, and the one who is chosen already."""
    added = Donor.objects.order_by("-id").values_list("id", flat=True)[:CHOICES]
    gave = Gift.objects.filter(donor__isnull=False).order_by("-id").values_list("donor", flat=True)[:CHOICES]
    wanted = dict.fromkeys(number for pair in zip_longest(gave, added) for number in pair if number)
    numbers = [*list(wanted)[:CHOICES], *([number] if (number := row_number(chosen)) else [])]
    return tuple(Donor.objects.filter(id__in=numbers).order_by("name", "id").values_list("id", "name"))


def _lines(numbers: list[int]) -> tuple[DonorLine, ...]:
    """Return these donors by name, each with what stayed of the money that they gave."""
    given = (
        Gift.objects.filter(donor__in=numbers)
        .values_list("donor")
        .annotate(
            count=Count("id", filter=~Q(way=Gift.Way.OPENING)),
            money=Sum("amount_minor", filter=~Q(way__in=(Gift.Way.GOODS, Gift.Way.OPENING)), default=0),
            last=Max("received_on"),
        )
    )
    sums = {donor: rest for donor, *rest in given}
    back = GiftReturn.objects.filter(gift__donor__in=numbers).values_list("gift__donor")
    went = dict(back.annotate(total=Sum("amount_minor")))
    return tuple(
        DonorLine(
            donor_id=row.id,
            kind=row.kind,
            kind_words=Donor.Kind(row.kind).label,
            name=row.name,
            address=row.address,
            email=row.email,
            note=row.note,
            gifts=gifts,
            given_minor=amount_minor - went.get(row.id, 0),
            last_on=last_on,
        )
        for row in Donor.objects.filter(id__in=numbers).order_by("name", "id")
        for gifts, amount_minor, last_on in [sums.get(row.id, (0, 0, None))]
    )
