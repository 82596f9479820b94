"""Who paid for one animal, in groups of funds, and what became of the gifts that name it: no donor is in it (F4)."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from django.db.models import F, Q, QuerySet, Sum
from django.db.models.functions import Coalesce

from ledger.models import Charge, Fund, Gift, Inflow, Share, Use
from ledger.models.accounts import FEES, KIND_OF, TRANSFERS, Kind

# In the order in which they pay (D1).
GROUPS = ("animal", "agreement", "purpose", "partner", "general", "given", "nobody")


@dataclass(frozen=True, kw_only=True)
class GroupSum:
    code: str
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class SharedLine:
    """One line of care that stands, with what each group of payers pays of it."""

    charge_id: int
    entry_number: int
    care_on: date
    words: str
    quantity_thousandths: int
    asked_minor: int
    usual_minor: int
    groups: tuple[GroupSum, ...]

    def of(self, code: str) -> int:
        return sum(group.amount_minor for group in self.groups if group.code == code)

    @property
    def named_minor(self) -> int:
        return self.of("animal")

    @property
    def left_over_minor(self) -> int:
        """What gifts that name the animal leave over."""
        return self.asked_minor - self.named_minor

    @property
    def agreement_minor(self) -> int:
        return self.of("agreement")


@dataclass(frozen=True, kw_only=True)
class NamedGifts:
    """What was given for the animal by name, and where it went: given = care + fees + went back + moved + waiting."""

    count: int
    given_minor: int
    care_minor: int
    fees_minor: int
    back_minor: int
    moved_minor: int
    waiting_minor: int


@dataclass(frozen=True, kw_only=True)
class SubjectMoney:
    subject_key: str
    asked_minor: int
    usual_minor: int
    groups: tuple[GroupSum, ...]
    lines: tuple[SharedLine, ...]
    named: NamedGifts

    def of(self, code: str) -> int:
        return sum(group.amount_minor for group in self.groups if group.code == code)

    @property
    def left_over_minor(self) -> int:
        """What gifts that name the animal left over of what was asked."""
        return self.asked_minor - self.of("animal")


def subject_money(*, subject_key: str, from_on: date, to_on: date) -> SubjectMoney:
    """Return the care of these days (by day of care) as it is paid now, and all gifts that name the animal by then."""
    period = Q(care_on__gte=from_on, care_on__lte=to_on)
    charges = Charge.objects.filter(period, subject_key=subject_key, reverses=None, reversed_by=None)
    lines = tuple(_lines(charges))
    sums: dict[str, int] = defaultdict(int)
    for line in lines:
        for group in line.groups:
            sums[group.code] += group.amount_minor
    return SubjectMoney(
        subject_key=subject_key,
        asked_minor=sum(line.asked_minor for line in lines),
        usual_minor=sum(line.usual_minor for line in lines),
        groups=_in_order(sums),
        lines=lines,
        named=_named(subject_key, to_on),
    )


def _lines(charges: QuerySet[Charge]):
    paid: dict[int, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    shares = Share.objects.filter(charge__in=charges)
    for charge_id, payer, kind, minor in shares.values_list("charge", "payer", "fund__kind", "amount_minor"):
        paid[charge_id][kind if payer == Share.Payer.FUND else payer] += minor
    for row in charges.order_by("care_on", "id").values(
        "id", "entry_id", "care_on", "quantity_thousandths", "asked_minor", "usual_minor", words=F("entry__words__line")
    ):
        yield SharedLine(
            charge_id=row["id"],
            entry_number=row["entry_id"],
            care_on=row["care_on"],
            words=row["words"] or "",
            quantity_thousandths=row["quantity_thousandths"],
            asked_minor=row["asked_minor"],
            usual_minor=row["usual_minor"],
            groups=_in_order(paid[row["id"]]),
        )


def _in_order(sums: dict[str, int]) -> tuple[GroupSum, ...]:
    return tuple(GroupSum(code=code, amount_minor=sums[code]) for code in GROUPS if sums.get(code))


def _named(subject_key: str, to_on: date) -> NamedGifts:
    funds = Fund.objects.filter(kind=Fund.Kind.ANIMAL, subject_key=subject_key)
    inflows = Inflow.objects.filter(fund__in=funds, entry__on__lte=to_on)
    uses = Use.objects.filter(inflow__in=inflows, entry__on__lte=to_on)
    income = [code for code, kind in KIND_OF.items() if kind == Kind.INCOME and code != TRANSFERS]
    known = uses.annotate(root=Coalesce("posting__back_of__debit", "posting__debit"))
    care = _minor(known.exclude(posting__charge=None))
    fees = _minor(known.filter(posting__charge=None, root=FEES))
    back = _minor(known.filter(posting__charge=None, posting__back_of=None, root__in=income))
    back += _minor(known.filter(posting__charge=None, posting__back_of__isnull=False, posting__debit__in=income))
    given, used = _minor(inflows), _minor(uses)
    return NamedGifts(
        count=Gift.objects.filter(inflows__in=inflows).distinct().count(),
        given_minor=given,
        care_minor=care,
        fees_minor=fees,
        back_minor=back,
        moved_minor=used - care - fees - back,
        waiting_minor=given - used,
    )


def _minor(rows: QuerySet) -> int:
    return rows.aggregate(total=Sum("amount_minor"))["total"] or 0
