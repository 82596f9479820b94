"""A service's price as the lots on the shelf make it: what its supplies cost, and what of them was given (C1, C2)."""

from dataclasses import replace
from fractions import Fraction

from clinic.queries.shelves import Used
from clinic.queries.unit_costs import CostLine, unit_cost
from clinic.queries.unit_prices import UnitPrice
from ledger.formulas import money


def from_the_shelf(price: UnitPrice, used: Used, *, quantity: Fraction) -> UnitPrice:
    """Return the price of one unit of a line that took `used` for `quantity` units.

    A computed cost takes what the lots cost in the place of what the supplies are planned at. A typed cost is the whole
    cost; what was given of the lots is a part of it, at most all of it.
    """
    if not used.supplies:
        return price
    main = Fraction(10) ** money.minor_digits(price.currency)
    if price.working is None:
        return replace(price, donated=min(used.donated / main / quantity, price.cost))
    taken = {one.supply_id: one for one in used.supplies}
    lines = [
        line if line.is_time or line.part_id not in taken else _line(line, taken[line.part_id], quantity * main)
        for line in price.working.lines
    ]
    return price.worked_out(unit_cost(lines))


def _line(line: CostLine, used, scale: Fraction) -> CostLine:
    return replace(line, rate=used.cost / scale / line.quantity, free=used.donated / scale)
