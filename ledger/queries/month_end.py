"""What the books have open at a month's end, each row one step from its mend (H3)."""

from __future__ import annotations

from calendar import monthrange
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Count, Sum

from config import home
from ledger.models import Carried, Entry, Fund, Gift, Words
from ledger.models.accounts import CLEARING, GOODS_ON_HAND
from ledger.queries import one_donor, waiting_gifts
from ledger.queries.bank import reaches_to
from ledger.queries.bank_open import OpenLine, open_lines
from ledger.queries.periods import begun_on, closed_through
from ledger.queries.sums import balances_at, last_number
from ledger.queries.unpaid_care import UnpaidAnimal, unpaid_animals

TAKEN_BACK = (Entry.Kind.RETURN, Entry.Kind.REVERSAL)


@dataclass(frozen=True, kw_only=True)
class CarriedLine:
    """What somebody has looked at and carried into the next month."""

    what: str
    words: str
    subject_key: str
    amount_minor: int
    on: date
    by: str
    why: str
    count: int | None
    latest_id: int | None

    @property
    def told(self) -> str:
        """What it is, and how many of it where that was counted; the bank without a line is a statement to bring."""
        if self.what == Carried.What.BANK and not self.count:
            return "statement of the bank to bring"
        return f"{self.words}: {self.count:,}" if self.count else self.words


@dataclass(frozen=True, kw_only=True)
class UnpaidRow:
    animal: UnpaidAnimal
    carried: CarriedLine | None


@dataclass(frozen=True, kw_only=True)
class AtSite:
    fund_id: int
    fund_name: str
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class TakenBack:
    """A gift that was returned, charged back or mistyped."""

    entry_number: int
    on: date
    words: str
    note: str


@dataclass(frozen=True, kw_only=True)
class ReceiptsDue:
    gifts: int
    donors: int
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class OpenItems:
    """Everything of H3 that the books know, at the end of `through_on`."""

    through_on: date
    unpaid: tuple[UnpaidRow, ...]
    at_sites: tuple[AtSite, ...]
    taken_back: tuple[TakenBack, ...]
    receipts: ReceiptsDue
    goods_minor: int
    goods_fund_id: int | None
    bank_left: tuple[OpenLine, ...]
    bank_reaches: date | None  # None where no statement has come yet
    carried: tuple[CarriedLine, ...]
    waiting: int  # rows of gift files that wait
    waiting_latest: int

    @property
    def undecided(self) -> tuple[UnpaidRow, ...]:
        return tuple(row for row in self.unpaid if row.carried is None)

    @property
    def unpaid_minor(self) -> int:
        return sum(row.animal.amount_minor for row in self.unpaid)

    @property
    def at_sites_minor(self) -> int:
        return sum(row.amount_minor for row in self.at_sites)

    @property
    def bank_left_minor(self) -> int:
        return sum(line.amount_minor for line in self.bank_left)

    @property
    def bank_latest(self) -> int:
        return max((line.line_id for line in self.bank_left), default=0)

    @property
    def bank_is_short(self) -> bool:
        """Statements came, and none of them reaches this day."""
        return self.bank_reaches is not None and self.bank_reaches < self.through_on

    def carried_as(self, what: str) -> CarriedLine | None:
        """Return by whom it was carried; None where more of it came since."""
        latest = {Carried.What.BANK: self.bank_latest, Carried.What.WAITING: self.waiting_latest}.get(what, 0)
        return next((line for line in self.carried if line.what == what and (line.latest_id or 0) >= latest), None)


def next_period(*, today: date) -> tuple[date, date] | None:
    """Return the first and the last day of the month to close next; None as long as the books are empty."""
    closed = closed_through()
    first = closed + timedelta(days=1) if closed else begun_on()
    if first is None:
        return None
    return first, first.replace(day=monthrange(first.year, first.month)[1])


def open_items(*, from_on: date, through_on: date) -> OpenItems:
    carried = carried_through(through_on=through_on)
    standing = balances_at(on=through_on, as_of=last_number())
    names = dict(Fund.objects.values_list("id", "name"))
    goods = next((fund_id for fund_id, code in standing if code == GOODS_ON_HAND), None)
    return OpenItems(
        through_on=through_on,
        unpaid=_unpaid(through_on, carried),
        at_sites=tuple(
            AtSite(fund_id=fund_id, fund_name=names[fund_id], amount_minor=minor)
            for (fund_id, code), minor in sorted(standing.items(), key=lambda row: names[row[0][0]])
            if code == CLEARING
        ),
        taken_back=_taken_back(from_on, through_on),
        receipts=_receipts(from_on, through_on),
        goods_minor=standing[goods, GOODS_ON_HAND] if goods else 0,
        goods_fund_id=goods,
        bank_left=open_lines(until=through_on),
        bank_reaches=reaches_to(),
        carried=carried,
        waiting=waiting_gifts.count(),
        waiting_latest=waiting_gifts.latest(),
    )


def undecided(*, through_on: date) -> tuple[UnpaidRow, ...]:
    """Return the animals with unpaid care of days until `through_on` that nobody decided or carried (D5)."""
    rows = _unpaid(through_on, carried_through(through_on=through_on))
    return tuple(row for row in rows if row.carried is None)


def carried_through(*, through_on: date, until: datetime | None = None) -> tuple[CarriedLine, ...]:
    """Return what was carried at this month's end, until a moment, of each thing the latest."""
    rows = Carried.objects.filter(through_on=through_on, **({"at__lte": until} if until else {}))
    latest = {(row.what, row.subject_key): row for row in rows.order_by("id")}
    names = {person: home.person(person) for person in {row.by for row in latest.values()}}
    return tuple(
        CarriedLine(
            what=row.what,
            words=Carried.What(row.what).label,
            subject_key=row.subject_key,
            amount_minor=row.amount_minor,
            on=row.on,
            by=names[row.by],
            why=row.why,
            count=row.count,
            latest_id=row.latest_id,
        )
        for row in latest.values()
    )


def _unpaid(through_on: date, carried: tuple[CarriedLine, ...]) -> tuple[UnpaidRow, ...]:
    """A row counts as carried as long as it has not grown since."""
    by_subject = {line.subject_key: line for line in carried if line.what == Carried.What.CARE}
    rows = []
    for animal in unpaid_animals(until_on=through_on):
        line = by_subject.get(animal.subject_key)
        stands = line is not None and line.amount_minor >= animal.amount_minor
        rows.append(UnpaidRow(animal=animal, carried=line if stands else None))
    return tuple(rows)


def _taken_back(from_on: date, through_on: date) -> tuple[TakenBack, ...]:
    entries = list(Entry.objects.filter(on__range=(from_on, through_on), kind__in=TAKEN_BACK).order_by("on", "id"))
    words = Words.objects.in_bulk([entry.id for entry in entries])
    return tuple(
        TakenBack(
            entry_number=entry.id,
            on=entry.on,
            words=entry.get_kind_display(),
            note=words[entry.id].note if entry.id in words else "",
        )
        for entry in entries
    )


def _receipts(from_on: date, through_on: date) -> ReceiptsDue:
    """Gifts of known donors that were not taken back since."""
    gifts = Gift.objects.filter(
        received_on__range=(from_on, through_on), donor__isnull=False, entry__reversed_by=None
    ).exclude(way=Gift.Way.OPENING)
    found = gifts.aggregate(
        gifts=Count("id"), donors=Count(one_donor.standing(), distinct=True), minor=Sum("amount_minor")
    )
    return ReceiptsDue(gifts=found["gifts"], donors=found["donors"], amount_minor=found["minor"] or 0)
