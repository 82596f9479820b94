"""What signed-off care takes from the shelf, and what a correction puts back; only these two move a lot by use."""

from collections.abc import Iterable
from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from clinic.formulas.shelves import LotMove
from clinic.models import StockMove, User
from clinic.queries.day_prices import PricedLine


def row_of(move: LotMove, *, kind: str, on: date, by: User, at: datetime, **cause: object) -> StockMove:
    """Return the row of a move out of a lot; what only levels lots to their average has no cause."""
    return StockMove(
        lot_id=move.lot_id,
        kind=StockMove.Kind.AVERAGE if move.levels else kind,
        on=on,
        quantity_millionths=move.quantity,
        cost=move.cost,
        donated=move.donated,
        by=by,
        at=at,
        **({} if move.levels else cause),
    )


@transaction.atomic
def use_up(*, lines: Iterable[PricedLine], on: date, by: User, at: datetime) -> int:
    """Take from the lots what the priced lines of a day of care say; return how many moves that were."""
    moves = [
        row_of(move, kind=StockMove.Kind.USE, on=on, by=by, at=at, charge_key=line.slip.key)
        for line in lines
        if line.slip
        for move in line.used.moves
    ]
    StockMove.objects.bulk_create(moves)
    return len(moves)


@transaction.atomic
def put_back(*, charge_key: UUID, on: date, by: User, at: datetime) -> int:
    """Put what a line of care took back into its lots, at the money it left with; return how many moves that were."""
    taken = StockMove.objects.filter(charge_key=charge_key, kind=StockMove.Kind.USE, put_back=None)
    moves = [
        StockMove(
            lot_id=move.lot_id,
            kind=StockMove.Kind.BACK,
            on=on,
            quantity_millionths=-move.quantity_millionths,
            cost=-move.cost,
            donated=-move.donated,
            charge_key=charge_key,
            back_of=move,
            by=by,
            at=at,
        )
        for move in taken.order_by("pk")
    ]
    StockMove.objects.bulk_create(moves)
    return len(moves)
