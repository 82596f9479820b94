"""Care nobody has paid, one row per animal, with those who could take it."""

from dataclasses import dataclass
from datetime import date

from clinic.models import Animal
from config.exports import Sheet
from ledger.formulas import money
from ledger.queries import fund_choices, holder
from ledger.queries import unpaid_care as books
from ledger.queries.fund_choices import FundChoice
from ledger.queries.report_tables import TOGETHER
from ledger.queries.report_tables import money as amount


@dataclass(frozen=True)
class UnpaidRow:
    animal_id: int
    animal_key: str
    name: str
    species: str
    number: str
    partner: str
    amount_minor: int
    oldest_on: date
    lines: int


@dataclass(frozen=True)
class UnpaidCare:
    rows: tuple[UnpaidRow, ...]
    funds: tuple[FundChoice, ...]  # those with money in them
    digits: int
    currency: str

    @property
    def amount_minor(self) -> int:
        return sum(row.amount_minor for row in self.rows)

    def funds_for(self, animal: Animal) -> tuple[FundChoice, ...]:
        """The funds that may take this animal's care by decision: its own, its partner's, and general money."""
        partner_key = animal.partner.key if animal.partner else None
        return tuple(
            fund
            for fund in self.funds
            if fund.kind == "general"
            or fund.subject_key == animal.key
            or (fund.party_key and fund.party_key == partner_key)
        )


def unpaid_table(unpaid: UnpaidCare) -> Sheet:
    """Return the list as a table for a file."""
    rows = tuple(
        (row.name, row.number, row.species, row.partner, row.oldest_on, row.lines, amount(row.amount_minor))
        for row in unpaid.rows
    )
    together = (TOGETHER, None, None, None, None, sum(row.lines for row in unpaid.rows))
    return Sheet(
        title="Care nobody has paid",
        heads=("Animal", "Number", "Species", "Partner", "Oldest day", "Lines", "Unpaid"),
        rows=(*rows, (*together, amount(unpaid.amount_minor))),
    )


def unpaid_care() -> UnpaidCare:
    found = books.unpaid_animals()
    animals = {
        animal.key: animal
        for animal in Animal.objects.filter(key__in=[row.subject_key for row in found]).select_related("partner")
    }
    currency = holder.holder().currency
    return UnpaidCare(
        rows=tuple(
            UnpaidRow(
                animal_id=animals[row.subject_key].pk,
                animal_key=row.subject_key,
                name=animals[row.subject_key].name or animals[row.subject_key].number,
                species=animals[row.subject_key].species,
                number=animals[row.subject_key].number,
                partner=animals[row.subject_key].partner.name if animals[row.subject_key].partner else "",
                amount_minor=row.amount_minor,
                oldest_on=row.oldest_on,
                lines=row.lines,
            )
            for row in found
            if row.subject_key in animals
        ),
        funds=tuple(fund for fund in fund_choices.fund_choices() if fund.balance_minor > 0 and fund.pays_care),
        digits=money.minor_digits(currency),
        currency=currency,
    )
