"""Donors with what they gave."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import zip_longest

from django.db.models import Count, Max, OuterRef, Q, Subquery, Sum
from django.db.models.functions import Coalesce

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
    shown = _counted(Donor.objects.filter(id__in=numbers[:PAGE])).order_by("name", "id")
    return DonorPage(
        rows=tuple(_line(row) for row in shown),
        further=str(numbers[PAGE - 1]) if len(numbers) > PAGE else "",
        is_first=last is None,
    )


def donor(*, donor_id: int) -> DonorLine | None:
    row = _counted(Donor.objects.filter(id=donor_id)).first()
    return _line(row) if row else None


def choices(*, chosen: str = "") -> tuple[tuple[int, str], ...]:
    """Return the donors who were added or gave last as choices for a form, and the one who is chosen already."""
    added = Donor.objects.order_by("-id").values_list("id", flat=True)[:CHOICES]
    gave = Gift.objects.filter(donor__isnull=False).order_by("-id").values_list("donor", flat=True)[:CHOICES]
    wanted = dict.fromkeys(number for pair in zip_longest(gave, added) for number in pair if number)
    numbers = [*list(wanted)[:CHOICES], *([number] if (number := row_number(chosen)) else [])]
    return tuple(Donor.objects.filter(id__in=numbers).order_by("name", "id").values_list("id", "name"))


def _counted(rows):
    money = ~Q(gifts__way=Gift.Way.GOODS)
    back = GiftReturn.objects.filter(gift__donor=OuterRef("pk")).order_by().values("gift__donor")
    went = Subquery(back.annotate(total=Sum("amount_minor")).values("total"))
    return rows.annotate(
        gift_count=Count("gifts"),
        given=Sum("gifts__amount_minor", filter=money, default=0) - Coalesce(went, 0),
        last_on=Max("gifts__received_on"),
    )


def _line(row: Donor) -> DonorLine:
    return DonorLine(
        donor_id=row.id,
        kind=row.kind,
        kind_words=Donor.Kind(row.kind).label,
        name=row.name,
        address=row.address,
        email=row.email,
        note=row.note,
        gifts=row.gift_count,
        given_minor=row.given,
        last_on=row.last_on,
    )
