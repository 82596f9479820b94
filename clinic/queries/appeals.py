"""What one animal needs, what is there, what is missing: the sheet by which gifts are asked for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from clinic.models import Animal, Appeal, AppealEnd, House, Order
from clinic.queries import in_care, path_plan
from clinic.queries.paper_head import NO_CURRENCY, Headed, paper_head
from clinic.queries.paths import path_of
from clinic.queries.photos import PaperPhoto, photo_for
from clinic.queries.unit_prices import UnitPrices
from config.days import day_year
from ledger.formulas import money
from ledger.queries import holder, unpaid_care
from ledger.queries.raised import Raised, raised

EXAMPLES = 3
MARKS = 20


@dataclass(frozen=True, kw_only=True)
class Example:
    """What a certain gift would pay: "1 day: Boarding, standard"."""

    amount_minor: int
    words: str


@dataclass(frozen=True, kw_only=True)
class AppealSheet(Headed):
    """`state` is open, met or ended: it follows from what came, so a sheet closes itself."""

    id: int
    animal_id: int
    animal: str
    species: str
    partner: str
    words: str
    opened_on: date
    on: date
    need_minor: int
    reserve_minor: int
    money: Raised
    ended_on: date | None
    ended_why: str
    photo: PaperPhoto | None
    examples: tuple[Example, ...]

    @property
    def met_on(self) -> date | None:
        """Since when the need with its reserve is there."""
        return self.money.reached_on(self.asked_minor)

    @property
    def state(self) -> str:
        if self.ended_on:
            return "ended"
        return "met" if self.met_on else "open"

    @property
    def on_words(self) -> str:
        return day_year(self.on)

    @property
    def came_minor(self) -> int:
        return self.money.minor - self.money.there_minor

    @property
    def missing_minor(self) -> int:
        return max(self.need_minor - self.money.minor, 0)

    @property
    def asked_minor(self) -> int:
        """The need with its reserve."""
        return self.need_minor + self.reserve_minor

    @property
    def marks(self) -> tuple[bool, ...]:
        """Twenty parts of the need, each filled when all of it is there."""
        filled = MARKS * max(self.money.minor, 0) // self.need_minor
        return tuple(number < filled for number in range(MARKS))

    @property
    def filled(self) -> int:
        return sum(self.marks)


def appeal_sheet(*, appeal: Appeal, on: date, house: House) -> AppealSheet:
    """Return an appeal as of a day; what came is counted until then, or until the appeal ended.

    :raises LookupError: when the ledger does not know its fund.
    """
    animal, head = appeal.animal, paper_head(house)
    end = AppealEnd.objects.filter(appeal=appeal).first()
    found = raised(fund_id=appeal.fund_id, from_on=appeal.opened_on, until=end.on if end else on)
    if found is None:
        raise LookupError(f"appeal {appeal.pk} names a fund that is not there")
    return AppealSheet(
        head=head,
        id=appeal.pk,
        animal_id=animal.pk,
        animal=animal.name or animal.number,
        species=animal.species,
        partner=animal.partner.name if animal.partner else "",
        words=appeal.words,
        opened_on=appeal.opened_on,
        on=on,
        need_minor=appeal.need_minor,
        reserve_minor=appeal.reserve_minor,
        money=found,
        ended_on=end.on if end else None,
        ended_why=end.why if end else "",
        photo=photo_for(animal=animal, use="appeal", on=on),
        examples=_examples(animal, on, head.digits),
    )


@dataclass(frozen=True, kw_only=True)
class Suggestion:
    """What the books and the plan say is needed: a beginning for the form, never filled in unseen."""

    unpaid_minor: int
    ahead_minor: int
    ahead_words: str  # the next operation of an open path; empty where there is none
    digits: int

    @property
    def together_minor(self) -> int:
        return self.unpaid_minor + self.ahead_minor


def suggestion(*, animal: Animal, on: date) -> Suggestion:
    """Return care that nobody has paid, and what the next operation of an open path asks with its days."""
    books = holder.holder()
    currency = books.currency if books else NO_CURRENCY
    path = path_of(animal=animal)
    priced = path_plan.priced(path=path, on=on, currency=currency) if path and path.ended_on is None else None
    step = priced.left[0] if priced and priced.left and not priced.obstacle else None
    return Suggestion(
        unpaid_minor=sum(line.amount_minor for line in unpaid_care.unpaid_of_subject(subject_key=animal.key)),
        ahead_minor=money.half_up(step.cost_minor) if step else 0,
        ahead_words=step.words if step else "",
        digits=money.minor_digits(currency),
    )


def _examples(animal: Animal, on: date, digits: int) -> tuple[Example, ...]:
    """What a night and what is ordered asks today, the dearest first."""
    orders = Order.objects.filter(animal=animal).select_related("service")
    services = {order.service_id: order.service for order in orders if order.is_due_on(on)}
    for row in in_care.on(on):
        if row.stay.animal_id == animal.pk and row.level:
            services[row.level.service_id] = row.level.service
    prices = UnitPrices(services=list(services), until=on)
    found = []
    for pk, service in services.items():
        price = prices.on(pk, on)
        if price and not price.obstacle and price.asked:
            minor = money.half_up(price.asked * 10**digits)
            found.append(Example(amount_minor=minor, words=f"1 {service.unit}: {service.name}"))
    return tuple(sorted(found, key=lambda one: (-one.amount_minor, one.words))[:EXAMPLES])
