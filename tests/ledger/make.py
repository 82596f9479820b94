"""Arranges books for tests through the actions that people use."""

from __future__ import annotations

from datetime import date, datetime, timezone
from decimal import Decimal
from uuid import UUID, uuid5

from django.db.models import Sum

from ledger.actions import agreements, funds, gifts, goods, holder, opening, payouts, periods, policies
from ledger.actions.charges import Slip
from ledger.models import Entry, Fund, Posting
from ledger.queries.balances import balances

BOOKKEEPER, MANAGER = 2, 1
SPACE = UUID("5b0f7a52-41a8-4f0a-9d2c-5cf3f2a7c001")
BRACKEN, BALLAST = "b" * 32, "a" * 32
BRINDLE_YARD = "p" * 32


def key(name: str) -> UUID:
    return uuid5(SPACE, name)


def oct(day: int) -> date:  # noqa: A001
    return date(2026, 10, day)


FIRST = oct(1)


def at(on: date) -> datetime:
    return datetime(on.year, on.month, on.day, 12, tzinfo=timezone.utc)  # noqa: UP017


def books(*, currency: str = "USD", on: date = FIRST):
    return holder.set_up(
        kind="own_charity",
        name="Larkweir Animal Fund",
        number="12-3456789",
        country="US",
        currency=currency,
        fiscal_year_starts=1,
        on=on,
        by=MANAGER,
    )


def general() -> Fund:
    return Fund.objects.get(kind="general")


def fund(name: str, kind: str, **facts) -> Fund:
    facts.setdefault("is_restricted", True)
    if facts["is_restricted"]:
        facts.setdefault("leftover", "goes to general care")
    return funds.open(key=key(f"fund {name}"), kind=kind, name=name, on=oct(1), by=BOOKKEEPER, **facts)


def opened(into: Fund, amount_minor: int, on: date = FIRST, **facts) -> Entry:
    return opening.balance(
        key=key(f"opening {into.name}"),
        fund_id=into.id,
        amount_minor=amount_minor,
        on=on,
        by=BOOKKEEPER,
        today=max(on, oct(14)),
        at=at(on),
        **facts,
    )


def gift(into: Fund, amount_minor: int, on: date, name: str = "", **facts):
    return gifts.receive(
        key=key(name or f"gift {into.name} {amount_minor} {on}"),
        donor_id=facts.pop("donor_id", None),
        fund_id=into.id,
        amount_minor=amount_minor,
        received_on=on,
        by=BOOKKEEPER,
        today=on,
        at=at(on),
        **facts,
    )


def paid_out(amounts: dict[int, int], on: date) -> Entry:
    return payouts.pay_out(key=key(f"payout {on}"), amounts=amounts, on=on, by=BOOKKEEPER, today=on, at=at(on))


def bandage(fair_value_minor: int = 1000, on: date = FIRST):
    return goods.receive(
        key=key("bandage"),
        donor_id=None,
        words="roll of bandage",
        quantity=Decimal(1),
        unit="roll",
        fair_value_minor=fair_value_minor,
        received_on=on,
        by=BOOKKEEPER,
        today=on,
        at=at(on),
    )


def agreed(percent: int = 40, **facts):
    facts.setdefault("from_on", oct(1))
    name = facts.pop("key_name", "agreement")
    return agreements.agree(
        key=key(name),
        party_key=BRINDLE_YARD,
        name="Brindle Yard agreement",
        percent=Decimal(percent),
        by=MANAGER,
        **facts,
    )


def policy(code: str, value, from_on: date = FIRST, *, today: date = FIRST, why: str = "Decided.", name: str = ""):
    return policies.set_policy(
        key=key(name or f"policy {code} {value} {from_on}"),
        code=code,
        value=value,
        from_on=from_on,
        why=why,
        by=MANAGER,
        today=today,
        at=at(today),
    )


def closed(through_on: date, *, today: date, name: str = "", note: str = "") -> Entry:
    sent = key(name or f"closed {through_on}")
    return periods.close(key=sent, through_on=through_on, by=BOOKKEEPER, today=today, at=at(today), note=note)


def reopened(why: str = "A bill came late.", *, today: date, name: str = "") -> Entry:
    return periods.reopen(key=key(name or f"reopened {today}"), why=why, by=MANAGER, today=today, at=at(today))


def slip(name: str = "boarding", **facts) -> Slip:
    defaults = {
        "key": key(f"slip {name}"),
        "subject_key": BRACKEN,
        "kind": "boarding",
        "care_on": oct(13),
        "words": "Boarding, standard",
        "subject_words": "Bracken",
        "quantity": Decimal(1),
        "unit": "day",
        "cost_minor": 2140,
        "usual_minor": 4200,
        "asked_minor": 2400,
    }
    return Slip(**{**defaults, **facts})


def by_name() -> dict[str, int]:
    """Every fund's balance by the fund's name."""
    names = dict(Fund.objects.values_list("id", "name"))
    return {names[number]: minor for number, minor in balances().items()}


def account(code: str) -> int:
    """An account's debits less its credits."""
    debit = Posting.objects.filter(debit=code).aggregate(total=Sum("amount_minor"))["total"] or 0
    credit = Posting.objects.filter(credit=code).aggregate(total=Sum("amount_minor"))["total"] or 0
    return debit - credit


def legs(number: int) -> list[tuple[str, str, int, str]]:
    """An entry's postings as (debit, credit, amount, fund), in order."""
    rows = Posting.objects.filter(entry=number).order_by("leg").select_related("fund")
    return [(row.debit_id, row.credit_id, row.amount_minor, row.fund.name) for row in rows]
