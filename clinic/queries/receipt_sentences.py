"""What a receipt or letter says beside its figures: what came back, what counts, what is claimed."""

from __future__ import annotations

from clinic.formulas.in_return import InReturn
from clinic.models import House
from config.templating import minor_text
from ledger.formulas import acknowledgment
from ledger.formulas.acknowledgment import GiftPart, Rules
from ledger.queries.gifts import GiftRow
from ledger.queries.holder import HolderFacts


def sentences(
    rows: tuple[GiftRow, ...], rules: Rules, books: HolderFacts, part: GiftPart | None, returned: InReturn,
    house: House, amount: int, is_receipt: bool,
) -> tuple[str, ...]:  # fmt: skip
    """Return the sentences that the country asks for, in their order."""
    digits, said = books.digits, []
    if any(row.is_goods for row in rows) and not rules.goods_are_valued:
        said.append("What you gave in goods is described here and not valued; what it is worth is for you to find.")
    if part is None:
        said.append("Nothing was given to you in return for it.")
    else:
        worth = minor_text(part.benefit_minor, digits)
        said.append(
            f"In return you received {returned.words}, worth {worth} {books.currency} by our estimate in good faith."
        )
        if part.gift_minor is not None:
            gift = minor_text(part.gift_minor, digits)
            small = ", since what came back is small enough to count as nothing" if not part.counted_minor else ""
            said.append(f"The part of your payment that may count as a gift is {gift} {books.currency}{small}.")
    if rules.claim_percent is not None and is_receipt:
        year = rows[-1].received_on.year
        net = part.gift_minor or 0 if part else amount
        claim = acknowledgment.may_be_claimed(
            country=rules.country, year=year, gift_minor=net, is_declared=returned.is_declared, is_goods=False
        )
        said.append(
            f"With your Gift Aid declaration we claim {minor_text(claim, digits)} {books.currency} of tax on it. "
            "You must have paid at least as much."
            if claim
            else "Without a Gift Aid declaration we claim no tax on it; you can still give us one."
        )
    if rules.country == "CA" and is_receipt:
        said.append(f"Issued at {house.address or house.name}. Canada Revenue Agency: canada.ca/charities-giving.")
    return tuple(said)
