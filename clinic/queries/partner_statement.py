"""A partner's month: each animal and its care, who paid in groups of funds, what is asked, what waits (F4)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from clinic.models import Approval, Partner
from clinic.queries.paper_head import Headed
from clinic.queries.partner_animals import AGREEMENT, AnimalMonth, columns_of, day_words, partner_animals
from clinic.queries.stationery import Stationery
from ledger.queries import charges, fund_limits, owed, party_balances, reports, roll_forward
from ledger.queries.charges import ChargeLine
from ledger.queries.roll_forward import FundRoll


@dataclass(frozen=True, kw_only=True)
class LimitUsed:
    words: str
    most_minor: int
    used_minor: int


@dataclass(frozen=True, kw_only=True)
class ApprovalLine:
    animal: str
    words: str
    given_by: str
    given_on: date
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class PartnerStatement(Headed):
    partner_id: int
    partner_key: str
    partner: str
    address: str
    from_on: date
    to_on: date
    issued_on: date
    number: str
    corrects: str
    letter: tuple[str, ...]  # the last words, as the manager wrote them
    signer: str
    as_of: int
    columns: tuple[str, ...]
    animals: tuple[AnimalMonth, ...]
    terms: str
    limits: tuple[LimitUsed, ...]
    funds: tuple[FundRoll, ...]
    approvals: tuple[ApprovalLine, ...]
    disputed_minor: int
    due_minor: int
    deposit_minor: int
    unpaid_minor: int

    @property
    def days(self) -> int:
        return sum(animal.days for animal in self.animals)

    @property
    def usual_minor(self) -> int:
        return sum(animal.usual_minor for animal in self.animals)

    @property
    def asked_minor(self) -> int:
        return sum(animal.asked_minor for animal in self.animals)

    @property
    def given_minor(self) -> int:
        return self.usual_minor - self.asked_minor

    @property
    def paid(self) -> tuple[int, ...]:
        return tuple(sum(animal.paid[place] for animal in self.animals) for place in range(len(self.columns)))

    @property
    def by_column(self) -> dict[str, int]:
        return dict(zip(self.columns, self.paid, strict=True))

    @property
    def of_you_minor(self) -> int:
        """What the month asks of the partner by its agreement; what it disputes waits until it is settled."""
        return self.by_column.get(AGREEMENT, 0) - self.disputed_minor

    @property
    def is_whole_month(self) -> bool:
        return self.from_on.day == 1 and (self.from_on.year, self.from_on.month) == (self.to_on.year, self.to_on.month)

    @property
    def title(self) -> str:
        days = f"{self.from_on:%B}" if self.is_whole_month else f"{day_words(self.from_on)} to {day_words(self.to_on)},"
        return f"{days} with {self.partner}"

    @property
    def number_words(self) -> str:
        return f"No. {self.number}" if self.number else "Draft, not issued"

    @property
    def issued_words(self) -> str:
        on = f"{day_words(self.issued_on)}, {self.issued_on.year}"
        return f"Issued {on}" if self.number else f"As the books stood on {on}"

    def sums(self) -> dict[str, int]:
        return {
            "usual fee": self.usual_minor,
            "asked": self.asked_minor,
            **{words.lower(): minor for words, minor in self.by_column.items()},
            "disputed": self.disputed_minor,
            "asked of you": self.of_you_minor,
        }

    def kept_facts(self) -> dict[str, Any]:
        """Return what is kept of an issued statement: keys and figures, no name."""
        return {
            "partner_key": self.partner_key,
            "as_of": self.as_of,
            "currency": self.currency,
            "sums": self.sums(),
            "animals": [[one.key, one.days, one.usual_minor, one.asked_minor, *one.paid] for one in self.animals],
        }


def partner_statement(
    *, partner: Partner, from_on: date, to_on: date, issued_on: date, stationery: Stationery, signer: str,
    number: str = "", corrects: str = "",
) -> PartnerStatement:  # fmt: skip
    """Return a partner's days; lines count by day of care, so that a month is the care of that month."""
    scope = reports.scope(from_on=from_on, to_on=to_on)
    lines = charges.of_party(party_key=partner.key, from_on=from_on, until_on=to_on).lines
    columns = columns_of(lines)
    balance, between = party_balances.party_balance(party_key=partner.key), owed.party_money(party_key=partner.key)
    own_funds = {fund.fund_id for fund in balance.funds}
    return PartnerStatement(
        head=stationery.head,
        partner_id=partner.pk,
        partner_key=partner.key,
        partner=partner.name,
        address=partner.address,
        from_on=from_on,
        to_on=to_on,
        issued_on=issued_on,
        number=number,
        corrects=corrects,
        letter=stationery.letter("partner", partner=partner.name),
        signer=signer,
        as_of=scope.as_of,
        columns=columns,
        animals=partner_animals(partner, lines, columns, from_on, to_on),
        terms=_terms(balance, to_on),
        limits=_limits({between.fund_id, *own_funds} - {None}, to_on),
        funds=tuple(
            line for line in roll_forward.roll_forward(scope=scope).together.lines if line.fund_id in own_funds
        ),
        approvals=_approvals(partner, from_on, to_on),
        disputed_minor=_disputed(partner, lines),
        due_minor=between.due_minor,
        deposit_minor=between.deposit_minor,
        unpaid_minor=balance.unpaid_minor,
    )


def _terms(balance: party_balances.PartyBalance, on: date) -> str:
    held = [one for one in balance.agreements if one.from_on <= on and (one.until_on is None or one.until_on >= on)]
    return "; ".join(f"{one.percent_words} {one.of_words}, {one.kinds_words}" for one in held)


def _limits(fund_ids: set[int], on: date) -> tuple[LimitUsed, ...]:
    found = [fund_limits.fund_limits(fund_id=fund_id, today=on) for fund_id in sorted(fund_ids)]
    return tuple(
        LimitUsed(words=line.per_words, most_minor=line.most_minor, used_minor=line.used_minor)
        for limits in found
        if limits
        for line in limits.lines
        if line.from_on <= on and (line.until_on is None or line.until_on >= on)
    )


def _approvals(partner: Partner, from_on: date, to_on: date) -> tuple[ApprovalLine, ...]:
    rows = Approval.objects.filter(animal__partner=partner, given_on__range=(from_on, to_on)).select_related("animal")
    return tuple(
        ApprovalLine(
            animal=row.animal.name or row.animal.number,
            words=row.words,
            given_by=row.given_by,
            given_on=row.given_on,
            amount_minor=row.amount_minor,
        )
        for row in rows.order_by("given_on", "pk")
    )


def _disputed(partner: Partner, lines: Iterable[ChargeLine]) -> int:
    waiting = set(partner.disputes.filter(settled_at=None).values_list("entry_number", flat=True))
    return sum(
        payer.amount_minor
        for line in lines
        if line.entry_number in waiting
        for payer in line.payers
        if payer.payer == "agreement"
    )
