"""What stood on each account of each fund on a day, and what moved in a period, as of an entry.

Numbers up to `as_of` are a snapshot: entries are only ever added. What stood before the last closing is read from
the balances that the closing keeps, so the work is that of the days since.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from django.db.models import BooleanField, Case, OuterRef, Q, QuerySet, Subquery, Sum, When

from ledger.models import Closing, ClosingBalance, Entry, Fund, FundDay, Posting
from ledger.models.accounts import KIND_OF, Kind

IN_OR_OUT = tuple(code for code, kind in KIND_OF.items() if kind in (Kind.INCOME, Kind.EXPENSE))


@dataclass(frozen=True, kw_only=True)
class Moved:
    """What all postings of a period moved in one fund from one account to another."""

    fund_id: int
    debit: str
    credit: str
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class Spent:
    """What an expense account took in a period, on a planned path or not."""

    account: str
    on_path: bool
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class MovedOn:
    """What all postings of a day moved from one account to another."""

    on: date
    debit: str
    credit: str
    amount_minor: int


def last_number() -> int:
    """Return the number of the last entry, 0 before there is one."""
    return Entry.objects.order_by("-id").values_list("id", flat=True).first() or 0


def balances_at(*, on: date, as_of: int, accounts: tuple[str, ...] = ()) -> dict[tuple[int, str], int]:
    """Return debits less credits by fund and account at the end of a day; of `accounts` only, where they are said."""
    standing: dict[tuple[int, str], int] = defaultdict(int)
    kept, since = _standing(on, as_of)
    if accounts:
        kept = kept.filter(account__in=accounts)
        since = since.filter(Q(debit__in=accounts) | Q(credit__in=accounts))
    for fund_id, account, minor in kept.values_list("fund", "account", "balance_minor"):
        standing[fund_id, account] = minor
    for row in _sums(since):
        standing[row.fund_id, row.debit] += row.amount_minor
        standing[row.fund_id, row.credit] -= row.amount_minor
    return {key: minor for key, minor in standing.items() if minor and (not accounts or key[1] in accounts)}


def accounts_at(*, on: date, as_of: int) -> dict[str, int]:
    """Return debits less credits by account, over all funds, at the end of a day."""
    standing: dict[str, int] = defaultdict(int)
    kept, since = _standing(on, as_of)
    standing.update(kept.values_list("account").annotate(total=Sum("balance_minor")))
    for debit, credit, minor in since.values_list("debit", "credit").annotate(total=Sum("amount_minor")):
        standing[debit] += minor
        standing[credit] -= minor
    return standing


def fund_net_assets_at(*, on: date, as_of: int) -> dict[int, int]:
    """Return income less expense up to the end of a day, by fund.

    While `as_of` is the last entry, that is what each fund keeps of its days, read in the statement that asks for
    the last entry; as of an older one it is summed.
    """
    day = FundDay.objects.filter(fund=OuterRef("pk"), on__lte=on).order_by("-on").values("closing_minor")[:1]
    last = Entry.objects.order_by("-id").values("id")[:1]
    kept = Fund.objects.annotate(standing=Subquery(day), last=Subquery(last)).exclude(standing=None)
    rows = tuple(kept.values_list("id", "standing", "last"))
    if rows and rows[0][2] == as_of:
        return {fund_id: minor for fund_id, minor, _ in rows}
    return net_assets_at(on=on, as_of=as_of, by="fund")


def net_assets_at(*, on: date, as_of: int, by: str) -> dict[int, int]:
    """Return income less expense up to the end of a day, summed by what is said of a posting's fund."""
    standing: dict[int, int] = defaultdict(int)
    kept, since = _standing(on, as_of)
    worth = kept.filter(account__in=IN_OR_OUT).values_list(by)
    for key, minor in worth.annotate(total=Sum("balance_minor")).exclude(total=0):
        standing[key] -= minor
    for key, debit, credit, minor in since.values_list(by, "debit", "credit").annotate(total=Sum("amount_minor")):
        standing[key] += minor * ((credit in IN_OR_OUT) - (debit in IN_OR_OUT))
    return standing


def moved(*, from_on: date, to_on: date, as_of: int) -> tuple[Moved, ...]:
    """Return what moved from `from_on` to `to_on`, both days counted in."""
    return _sums(_postings(as_of, until=to_on).filter(entry__on__gte=from_on))


def moved_by_day(*, from_on: date, to_on: date, as_of: int) -> tuple[MovedOn, ...]:
    """Return what moved on each day of a period, over all funds, both days counted in."""
    rows = _postings(as_of, until=to_on).filter(entry__on__gte=from_on)
    sums = rows.values_list("entry__on", "debit", "credit").annotate(total=Sum("amount_minor"))
    return tuple(MovedOn(on=on, debit=debit, credit=credit, amount_minor=minor) for on, debit, credit, minor in sums)


def spent(*, from_on: date, to_on: date, as_of: int, accounts: tuple[str, ...]) -> tuple[Spent, ...]:
    """Return debits less credits of expense accounts in a period, both days counted in; care apart by its path."""
    rows = _postings(as_of, until=to_on).filter(entry__on__gte=from_on)
    rows = rows.filter(Q(debit__in=accounts) | Q(credit__in=accounts))
    planned = Case(When(Q(charge=None) | Q(charge__plan_key=""), then=False), default=True, output_field=BooleanField())
    sums = rows.annotate(planned=planned).values_list("debit", "credit", "planned").annotate(total=Sum("amount_minor"))
    return tuple(
        Spent(account=account, on_path=bool(on_path), amount_minor=sign * minor)
        for debit, credit, on_path, minor in sums
        for account, sign in ((debit, 1), (credit, -1))
        if account in accounts
    )


def _standing(on: date, as_of: int) -> tuple[QuerySet[ClosingBalance], QuerySet[Posting]]:
    """What stands at the end of a day: the balances that the last closing kept, and the postings since."""
    begun, since = _closing(on, as_of), _postings(as_of, until=on)
    kept = ClosingBalance.objects.filter(entry=begun.entry_id if begun else 0)
    return kept, since.filter(entry__on__gt=begun.through_on) if begun else since


def _closing(on: date, as_of: int) -> Closing | None:
    """The last closing that ended by this day and had not been reopened when entry `as_of` was posted."""
    return (
        Closing.objects.filter(reopens=None, through_on__lte=on, entry__lte=as_of)
        .filter(Q(reopened_by=None) | Q(reopened_by__entry__gt=as_of))
        .order_by("-through_on", "-entry")
        .first()
    )


def _sums(postings: QuerySet[Posting]) -> tuple[Moved, ...]:
    rows = postings.values_list("fund", "debit", "credit").annotate(total=Sum("amount_minor"))
    return tuple(
        Moved(fund_id=fund_id, debit=debit, credit=credit, amount_minor=minor) for fund_id, debit, credit, minor in rows
    )


def _postings(as_of: int, *, until: date) -> QuerySet[Posting]:
    """Postings through their entries, whose index is by date, so that a month costs what its days cost."""
    return Posting.objects.filter(entry__on__lte=until, entry__lte=as_of)
