"""A partner's statement as tables for a file: each animal and who paid, what was done, what is owed."""

from __future__ import annotations

from clinic.queries.partner_statement import PartnerStatement
from config.exports import Sheet
from ledger.queries.report_tables import TOGETHER
from ledger.queries.report_tables import money as amount


def partner_tables(*, statement: PartnerStatement) -> tuple[Sheet, ...]:
    """Return what the statement says, nothing of it a cost or a donor (F4)."""

    animals = tuple(
        (
            one.name, one.partner_number, one.now, one.days,
            *map(amount, (one.usual_minor, one.given_minor, one.asked_minor, *one.paid)),
        )
        for one in statement.animals
    )  # fmt: skip
    sums = (statement.usual_minor, statement.given_minor, statement.asked_minor, *statement.paid)
    kinds = tuple((one.name, kind.words, amount(kind.amount_minor)) for one in statement.animals for kind in one.kinds)
    return (
        Sheet(
            title="Animals",
            heads=("Animal", "Your number", "Now", "Nights", "Usual fee", "Given", "Asked", *statement.columns),
            rows=(*animals, (TOGETHER, None, None, statement.days, *map(amount, sums))),
        ),
        Sheet(
            title="What was done",
            heads=("Animal", "Care", "Asked"),
            rows=(*kinds, (TOGETHER, None, amount(statement.asked_minor))),
        ),
        Sheet(
            title="Your funds",
            heads=("Fund", "Opening", "In", "Out", "Transfers", "Closing"),
            rows=tuple(
                (
                    line.name,
                    *map(
                        amount,
                        (line.opening_minor, line.in_minor, line.out_minor, line.transfers_minor, line.closing_minor),
                    ),
                )
                for line in statement.funds
            ),
        ),
        Sheet(
            title="Asked and owed",
            heads=("Line", "Amount"),
            rows=(
                *((words.capitalize(), amount(minor)) for words, minor in statement.sums().items()),
                ("Owed in all", amount(statement.due_minor)),
                ("Your deposit", amount(statement.deposit_minor)),
                ("Care nobody has paid", amount(statement.unpaid_minor)),
            ),
        ),
    )
