"""Who paid for one animal, told so that it may be shown to a partner: groups of funds, no donor, no cost (F4, I6)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from clinic.models import Animal, House
from clinic.queries.paper_head import Headed, paper_head
from config.days import day_year
from ledger.queries import party_balances
from ledger.queries.limits import in_force
from ledger.queries.party_balances import AgreementTerms
from ledger.queries.subject_money import SharedLine, SubjectMoney, subject_money

WORDS = {
    "animal": "Gifts that name {name}",
    "agreement": "{partner}, by agreement",
    "purpose": "Gifts for this kind of care",
    "partner": "The fund of {partner}",
    "general": "General money",
    "given": "Given by the clinic",
    "nobody": "Nobody yet",
}


@dataclass(frozen=True, kw_only=True)
class PaidGroup:
    words: str
    why: str
    amount_minor: int
    is_agreement: bool


@dataclass(frozen=True, kw_only=True)
class MonthPaid:
    month: date
    asked_minor: int
    named_minor: int
    agreement_minor: int
    others_minor: int


@dataclass(frozen=True, kw_only=True)
class BilledMonth:
    """The lines of a month of which the partner pays a part by agreement."""

    month: date
    lines: tuple[SharedLine, ...]

    @property
    def asked_minor(self) -> int:
        return sum(line.asked_minor for line in self.lines)

    @property
    def named_minor(self) -> int:
        return sum(line.named_minor for line in self.lines)

    @property
    def left_over_minor(self) -> int:
        return sum(line.left_over_minor for line in self.lines)

    @property
    def agreement_minor(self) -> int:
        return sum(line.agreement_minor for line in self.lines)


@dataclass(frozen=True, kw_only=True)
class WhoPaid(Headed):
    animal_id: int
    name: str
    number: str
    species: str
    partner: str
    partner_number: str
    from_on: date
    to_on: date
    issued_on: date
    terms: AgreementTerms | None
    money: SubjectMoney
    groups: tuple[PaidGroup, ...]
    months: tuple[MonthPaid, ...]
    billed: tuple[BilledMonth, ...]

    @property
    def issued_word(self) -> str:
        return day_year(self.issued_on)

    @property
    def runner(self) -> str:
        return f"Who paid for {self.name}, No. {self.number}"

    @property
    def agreement_minor(self) -> int:
        return self.money.of("agreement")

    @property
    def named_minor(self) -> int:
        return self.money.of("animal")

    @property
    def others_minor(self) -> int:
        return self.money.asked_minor - self.named_minor - self.agreement_minor


def who_paid(*, animal: Animal, from_on: date, to_on: date, today: date, house: House) -> WhoPaid:
    """Return who paid for an animal's care of these days, and what the gifts that name it have done by then."""
    found = subject_money(subject_key=animal.key, from_on=from_on, to_on=to_on)
    partner = animal.partner
    name = animal.name or animal.number
    terms = _terms(partner.key, to_on) if partner else None
    return WhoPaid(
        head=paper_head(house),
        animal_id=animal.pk,
        name=name,
        number=animal.number,
        species=animal.species,
        partner=partner.name if partner else "",
        partner_number=animal.partner_number,
        from_on=from_on,
        to_on=to_on,
        issued_on=today,
        terms=terms,
        money=found,
        groups=tuple(
            PaidGroup(
                words=WORDS[group.code].format(name=name, partner=partner.name if partner else "the partner"),
                why=_why(group.code, terms),
                amount_minor=group.amount_minor,
                is_agreement=group.code == "agreement",
            )
            for group in found.groups
        ),
        months=tuple(_months(found.lines)),
        billed=tuple(
            BilledMonth(month=month, lines=tuple(lines))
            for month, lines in _by_month(line for line in found.lines if line.agreement_minor)
        ),
    )


def _terms(party_key: str, on: date) -> AgreementTerms | None:
    agreements = party_balances.party_balance(party_key=party_key).agreements
    return (in_force(agreements, on) or list(agreements) or [None])[-1]


def _why(code: str, terms: AgreementTerms | None) -> str:
    if code == "agreement" and terms:
        return f"{terms.percent_words} {terms.of_words}"
    return {
        "animal": "they pay first",
        "purpose": "their givers named this kind of care",
        "partner": "given for the animals of this partner",
        "general": "what the others leave over",
        "given": "care that the clinic took over",
        "nobody": "waits for somebody to take it",
    }.get(code, "")


def _by_month(lines: Iterable[SharedLine]) -> list[tuple[date, list[SharedLine]]]:
    months: dict[date, list[SharedLine]] = {}
    for line in lines:
        months.setdefault(line.care_on.replace(day=1), []).append(line)
    return sorted(months.items())


def _months(lines: tuple[SharedLine, ...]):
    for month, found in _by_month(lines):
        asked = sum(line.asked_minor for line in found)
        named = sum(line.named_minor for line in found)
        agreed = sum(line.agreement_minor for line in found)
        yield MonthPaid(
            month=month,
            asked_minor=asked,
            named_minor=named,
            agreement_minor=agreed,
            others_minor=asked - named - agreed,
        )
