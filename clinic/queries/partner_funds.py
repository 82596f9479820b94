"""The money by rescue partner: its funds, its agreement, what it owes and what nobody has paid."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Q

from clinic.models import Animal, Partner, Stay
from clinic.queries import disputes
from clinic.queries.animals import left_words
from clinic.queries.disputes import DisputeLine
from ledger.formulas import money
from ledger.queries import charges, holder, owed, party_balances
from ledger.queries.charges import ChargeLine, PayerLine
from ledger.queries.owed import PartyMoney
from ledger.queries.party_balances import PartyBalance

# How a partner is told who paid: groups of funds, never a donor and never another partner (F4).
GROUPS = {
    "animal": "Gifts for this animal",
    "purpose": "Gifts for this kind of care",
    "partner": "Your fund",
    "general": "General money",
}


@dataclass(frozen=True)
class PartnerRow:
    id: int
    name: str
    in_care: int
    animals: int
    books: PartyBalance


@dataclass(frozen=True)
class PartnerFunds:
    rows: tuple[PartnerRow, ...]
    digits: int
    currency: str

    @property
    def balance_minor(self) -> int:
        return sum(row.books.balance_minor for row in self.rows)

    @property
    def due_minor(self) -> int:
        return sum(row.books.due_minor for row in self.rows)

    @property
    def unpaid_minor(self) -> int:
        return sum(row.books.unpaid_minor for row in self.rows)


@dataclass(frozen=True)
class GroupPaid:
    words: str
    amount_minor: int


@dataclass(frozen=True)
class PartnerAnimal:
    id: int
    number: str
    partner_number: str
    name: str
    species: str
    about: str
    now: str
    asked_minor: int
    given_minor: int
    paid: tuple[GroupPaid, ...]


@dataclass(frozen=True)
class WithdrawalLine:
    covers: str
    from_on: date
    words: str


@dataclass(frozen=True)
class PartnerPage:
    id: int
    name: str
    key: str
    email: str
    phone: str
    address: str
    since_on: date
    until_on: date | None
    withdrawals: tuple[WithdrawalLine, ...]
    disputes: tuple[DisputeLine, ...]
    disputed_minor: int  # owed in the books, and not asked for until it is settled (F4)
    from_on: date
    to_on: date
    books: PartyBalance
    money: PartyMoney
    animals: tuple[PartnerAnimal, ...]
    paid: tuple[GroupPaid, ...]
    asked_minor: int
    given_minor: int
    digits: int
    currency: str


def partner_funds(*, on: date) -> PartnerFunds:
    currency = holder.holder().currency
    books = {balance.party_key: balance for balance in party_balances.party_balances()}
    here = Q(animals__stays__admitted_on__lte=on, animals__stays__is_history=False) & (
        Q(animals__stays__discharged_on__isnull=True) | Q(animals__stays__discharged_on__gt=on)
    )
    partners = Partner.objects.annotate(
        in_care=Count("animals", filter=here, distinct=True), brought=Count("animals", distinct=True)
    )
    return PartnerFunds(
        rows=tuple(
            PartnerRow(
                id=partner.pk,
                name=partner.name,
                in_care=partner.in_care,
                animals=partner.brought,
                books=books.get(partner.key) or party_balances.party_balance(party_key=partner.key),
            )
            for partner in partners.order_by("name")
        ),
        digits=money.minor_digits(currency),
        currency=currency,
    )


def partner_page(*, partner: Partner, from_on: date, to_on: date, on: date) -> PartnerPage:
    """Return a partner's animals in care or charged in the period, and who paid, in groups of funds."""
    currency = holder.holder().currency
    period = charges.of_party(party_key=partner.key, from_on=from_on, until_on=to_on)
    by_animal: dict[str, list[ChargeLine]] = defaultdict(list)
    for line in period.lines:
        by_animal[line.subject_key].append(line)
    animals = [
        animal
        for animal in _animals(partner, on)
        if animal.key in by_animal or animal.last is None or _is_here(animal, on)
    ]
    disputed = disputes.disputes_of(partner=partner)
    return PartnerPage(
        id=partner.pk,
        name=partner.name,
        key=partner.key,
        email=partner.email,
        phone=partner.phone,
        address=partner.address,
        since_on=partner.since_on,
        until_on=partner.until_on,
        withdrawals=tuple(
            WithdrawalLine(one.get_covers_display(), one.from_on, one.words)
            for one in partner.withdrawals.order_by("from_on", "pk")
        ),
        disputes=disputed,
        disputed_minor=owed.asked_by_agreement(numbers={line.entry_number for line in disputed if line.waits}),
        from_on=from_on,
        to_on=to_on,
        books=party_balances.party_balance(party_key=partner.key),
        money=owed.party_money(party_key=partner.key),
        animals=tuple(_animal(animal, by_animal.get(animal.key, []), on) for animal in animals),
        paid=_groups(period.lines),
        asked_minor=period.together.asked_minor,
        given_minor=period.given_minor,
        digits=money.minor_digits(currency),
        currency=currency,
    )


def _animals(partner: Partner, on: date) -> list[Animal]:
    """Return the partner's animals, each with its last stay by then as `last`."""
    last = {
        stay.animal_id: stay
        for stay in Stay.objects.filter(animal__partner=partner, admitted_on__lte=on).order_by("admitted_on")
    }
    animals = list(partner.animals.order_by("name", "number"))
    for animal in animals:
        animal.last = last.get(animal.pk)
    return sorted(animals, key=lambda animal: (not _is_here(animal, on), animal.name, animal.number))


def _is_here(animal: Animal, on: date) -> bool:
    return (
        animal.last is not None
        and not animal.last.is_history
        and (animal.last.discharged_on is None or animal.last.discharged_on > on)
    )


def _animal(animal: Animal, lines: list[ChargeLine], on: date) -> PartnerAnimal:
    return PartnerAnimal(
        id=animal.pk,
        number=animal.number,
        partner_number=animal.partner_number,
        name=animal.name or animal.number,
        species=animal.species,
        about=animal.about,
        now=_now(animal, on),
        asked_minor=sum(line.asked_minor for line in lines),
        given_minor=sum(line.given_minor for line in lines),
        paid=_groups(lines),
    )


def _now(animal: Animal, on: date) -> str:
    if animal.last is None:
        return "not admitted yet"
    if _is_here(animal, on):
        return f"in care, day {(on - animal.last.admitted_on).days + 1}"
    left = animal.last.discharged_on
    return f"left {left:%B} {left.day}" + (f", {left_words(animal.last.left_to)}" if animal.last.left_to else "")


def _groups(lines) -> tuple[GroupPaid, ...]:
    sums: dict[str, int] = defaultdict(int)
    for line in lines:
        for payer in line.payers:
            sums[group_of(payer)] += payer.amount_minor
    order = ["Gifts for this animal", "Your agreement", "Gifts for this kind of care", "Your fund", "General money"]
    ranked = sorted(sums.items(), key=lambda item: order.index(item[0]) if item[0] in order else len(order))
    return tuple(GroupPaid(words, amount) for words, amount in ranked if amount)


def group_of(payer: PayerLine) -> str:
    """Return how a partner is told who paid: in groups of funds (F4)."""
    if payer.payer == "agreement":
        return "Your agreement"
    if payer.payer == "nobody":
        return "Nobody yet"
    if payer.payer == "given":
        return "Given by the clinic"
    return GROUPS.get(payer.fund_kind, "Other funds")
