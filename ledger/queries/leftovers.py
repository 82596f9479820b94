"""What is left of restricted funds that are not needed any more, and whose givers must be asked (E4)."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from django.db.models import F, Sum

from config import home
from ledger.models import Entry, Fund, Inflow, LeftoverAnswer, Posting
from ledger.models.accounts import TRANSFERS
from ledger.queries import one_donor
from ledger.queries.balances import with_balance

MOVES_SHOWN = 10


@dataclass(frozen=True, kw_only=True)
class LeftoverGift:
    """What is left of a gift whose giver never saw the clause, and the last answer, if there is one."""

    gift_id: int
    donor_name: str
    received_on: date
    left_minor: int
    answer_words: str
    answered_on: date | None
    answered_by: str


@dataclass(frozen=True, kw_only=True)
class LeftoverMove:
    entry_number: int
    on: date
    fund_id: int
    fund_name: str
    to_name: str
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class LeftoverFund:
    fund_id: int
    name: str
    kind_words: str
    subject_key: str
    clause: str
    to_fund_id: int | None
    to_name: str
    judged_on: date | None
    judged_by: str
    judged_why: str
    is_closed: bool
    balance_minor: int
    to_ask: tuple[LeftoverGift, ...]

    @property
    def ask_minor(self) -> int:
        return sum(gift.left_minor for gift in self.to_ask)

    @property
    def under_clause_minor(self) -> int:
        return self.balance_minor - self.ask_minor

    @property
    def unanswered(self) -> int:
        return sum(1 for gift in self.to_ask if not gift.answered_on)


@dataclass(frozen=True, kw_only=True)
class Leftovers:
    """Funds whose clause applies and in which money waits, those whose clause may come to apply, and what moved."""

    waiting: tuple[LeftoverFund, ...]
    standing: tuple[LeftoverFund, ...]
    moved: tuple[LeftoverMove, ...]


def leftovers() -> Leftovers:
    funds = _funds(with_balance(Fund.objects.filter(is_restricted=True)).filter(balance_minor__gt=0))
    return Leftovers(
        waiting=tuple(fund for fund in funds if fund.judged_on),
        standing=tuple(fund for fund in funds if not fund.judged_on),
        moved=_moved(),
    )


def leftover(*, fund_id: int) -> LeftoverFund | None:
    """Return what is left of a restricted fund, or None where it is none."""
    found = _funds(with_balance(Fund.objects.filter(id=fund_id, is_restricted=True)))
    return found[0] if found else None


def of_subject(*, subject_key: str) -> tuple[LeftoverFund, ...]:
    """Return the funds that name this subject and still hold money."""
    return _funds(
        with_balance(Fund.objects.filter(subject_key=subject_key, is_restricted=True)).filter(balance_minor__gt=0)
    )


def may_take(*, fund_id: int) -> tuple[tuple[int, str], ...]:
    """Return the open funds to which a leftover clause may send money, as choices for a form."""
    aside = (Fund.Kind.AGREEMENT, Fund.Kind.GIVEN, Fund.Kind.GOODS)
    rows = Fund.objects.filter(closed_on=None).exclude(kind__in=aside).exclude(id=fund_id)
    return tuple(rows.order_by("name").values_list("id", "name"))


def _funds(rows) -> tuple[LeftoverFund, ...]:
    funds = list(rows.select_related("leftover_to").order_by("name"))
    gifts = _to_ask([fund.id for fund in funds])
    return tuple(
        LeftoverFund(
            fund_id=fund.id,
            name=fund.name,
            kind_words=Fund.Kind(fund.kind).label,
            subject_key=fund.subject_key,
            clause=fund.leftover,
            to_fund_id=fund.leftover_to_id,
            to_name=fund.leftover_to.name if fund.leftover_to else "",
            judged_on=fund.leftover_on,
            judged_by=home.person(fund.leftover_by) if fund.leftover_by else "",
            judged_why=fund.leftover_why,
            is_closed=fund.closed_on is not None,
            balance_minor=fund.balance_minor,
            to_ask=tuple(gifts.get(fund.id, ())),
        )
        for fund in funds
    )


def _to_ask(fund_ids: list[int]) -> dict[int, list[LeftoverGift]]:
    rows = (
        Inflow.objects.filter(fund__in=fund_ids, left_minor__gt=0, gift__clause_unseen=True)
        .values("fund", "gift", name=one_donor.told("gift__donor"), received=F("gift__received_on"))
        .annotate(left=Sum("left_minor"))
        .order_by("received", "gift")
    )
    answers = {
        (answer.fund_id, answer.gift_id): answer
        for answer in LeftoverAnswer.objects.filter(fund__in=fund_ids).order_by("id")
    }
    gifts: dict[int, list[LeftoverGift]] = defaultdict(list)
    for row in rows:
        said = answers.get((row["fund"], row["gift"]))
        gifts[row["fund"]].append(
            LeftoverGift(
                gift_id=row["gift"],
                donor_name=row["name"] or "Somebody unknown",
                received_on=row["received"],
                left_minor=row["left"],
                answer_words=LeftoverAnswer.Answer(said.answer).label if said else "",
                answered_on=said.on if said else None,
                answered_by=home.person(said.by) if said else "",
            )
        )
    return gifts


def _moved() -> tuple[LeftoverMove, ...]:
    latest = Entry.objects.filter(kind=Entry.Kind.LEFTOVER, reversed_by=None).order_by("-id")
    numbers = list(latest.values_list("id", flat=True)[:MOVES_SHOWN])
    legs = Posting.objects.filter(entry__in=numbers)
    into = dict(legs.filter(credit=TRANSFERS).values_list("entry", "fund__name"))
    out = legs.filter(debit=TRANSFERS).select_related("fund").order_by("-entry")
    return tuple(
        LeftoverMove(
            entry_number=leg.entry_id,
            on=leg.on,
            fund_id=leg.fund_id,
            fund_name=leg.fund.name,
            to_name=into.get(leg.entry_id, ""),
            amount_minor=leg.amount_minor,
        )
        for leg in out
    )
