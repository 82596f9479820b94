"""What a group was given together, shared over its animals so that the parts sum to it exactly (B4).

Each figure is split by largest remainder in equal parts; a unit that is left over goes to the earlier animal. Donated
goods and unpaid time are split as the steps between running sums, so that no animal's part of them exceeds what its
part of the usual fee leaves above its part of what is asked.
"""

from dataclasses import dataclass
from decimal import Decimal

from ledger.formulas import splitting


@dataclass(frozen=True, kw_only=True)
class Shared:
    """The figures of a line in whole minor units."""

    cost_minor: int
    usual_minor: int
    asked_minor: int
    goods_minor: int = 0
    time_minor: int = 0


def parts(*, whole: Shared, of: int) -> tuple[Shared, ...]:
    """Share a line over `of` animals.

    >>> [part.asked_minor for part in parts(whole=Shared(cost_minor=985, usual_minor=2600, asked_minor=1000), of=3)]
    [334, 333, 333]
    >>> both = parts(whole=Shared(cost_minor=5, usual_minor=5, asked_minor=3, goods_minor=1, time_minor=1), of=2)
    >>> [(part.usual_minor, part.asked_minor, part.goods_minor, part.time_minor) for part in both]
    [(3, 2, 0, 1), (2, 1, 1, 0)]
    """
    asked = _split(whole.asked_minor, of)
    with_goods = _split(whole.asked_minor + whole.goods_minor, of)
    with_time = _split(whole.asked_minor + whole.goods_minor + whole.time_minor, of)
    figures = zip(
        _split(whole.cost_minor, of), _split(whole.usual_minor, of), asked, with_goods, with_time, strict=True
    )
    return tuple(
        Shared(
            cost_minor=cost,
            usual_minor=usual,
            asked_minor=own,
            goods_minor=and_goods - own,
            time_minor=and_time - and_goods,
        )
        for cost, usual, own, and_goods, and_time in figures
    )


def quantities(*, quantity: Decimal, of: int) -> tuple[Decimal, ...]:
    """Share a quantity over `of` animals, in thousandths.

    >>> [str(part) for part in quantities(quantity=Decimal(1), of=3)]
    ['0.334', '0.333', '0.333']
    """
    return tuple(Decimal(part) / 1000 for part in _split(int(quantity * 1000), of))


def _split(total: int, of: int) -> list[int]:
    return splitting.largest_remainder(total, [1] * of)
