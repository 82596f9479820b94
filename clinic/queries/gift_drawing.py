"""The drawing of a statement: each gift running to the animals whose care it paid for."""

from clinic.queries.helped_animals import Helped
from config import charts
from ledger.queries.donor_trace import DonorTrace
from ledger.queries.gift_flows import GiftFlow

MOST_DRAWN = 6  # animals in the drawing; the list below it has them all
ROOM = 500  # the height that the first leaf leaves, in points of the drawing, and what takes from it
ADDRESS, ADDRESS_LINE, CORRECTION = 10, 20, 36
MOST_GIFTS = 12  # more gifts would be more lines than an eye can follow: the list has them all


def gift_drawing(
    *,
    trace: DonorTrace,
    flows: tuple[GiftFlow, ...],
    helped: dict[str, Helped],
    digits: int,
    room: int = ROOM,
    most: int = MOST_DRAWN,
) -> charts.Chart | None:
    """Draw the gifts; none where there are too many, or where a correction would draw a line backwards."""
    if not 0 < len(flows) <= MOST_GIFTS or trace.left_again_minor or any(_is_backwards(flow) for flow in flows):
        return None
    fees, waits = any(flow.fee_minor for flow in flows), any(flow.waiting_minor for flow in flows)
    costs = any(flow.other_costs_minor for flow in flows)
    drawn = list(helped)[:most] if len(helped) > most + 1 else list(helped)
    others = [key for key in helped if key not in drawn]
    targets = [charts.Target(words=helped[key].name, kind="animal", species=helped[key].species) for key in drawn]
    targets += [charts.Target(words=f"and {len(others)} others", kind="animal", species="")] if others else []
    targets += [charts.Target(words="Giving-site fees", kind="fee")] if fees else []
    targets += [charts.Target(words="Other costs", kind="fee")] if costs else []
    targets += [charts.Target(words="Not yet spent", kind="waiting")] if waits else []
    return charts.flow(
        name="gifts-flow",
        title="Where your gifts went",
        desc="Lines run from each gift on the left to the animals whose care it paid for on the right.",
        gifts=[
            charts.Source(
                amount_minor=flow.start_minor,
                when=f"{flow.received_on:%B} {flow.received_on.day}",
                fund=flow.fund_name,
                to=tuple(
                    [flow.paid.get(key, 0) for key in drawn]
                    + ([sum(flow.paid.get(key, 0) for key in others)] if others else [])
                    + ([flow.fee_minor] if fees else [])
                    + ([flow.other_costs_minor] if costs else [])
                    + ([flow.waiting_minor] if waits else [])
                ),
            )
            for flow in flows
        ],
        targets=targets,
        digits=digits,
        room=room,
    )


def room_beside(*, address: str, corrects: str) -> int:
    """Return the height left for the drawing on a leaf with this address, and with a word on what it corrects.

    >>> room_beside(address="", corrects=""), room_beside(address="Flat 3, Larkweir", corrects="No. 2026-0001")
    (500, 434)
    """
    lines = ADDRESS + ADDRESS_LINE * len(address.splitlines()) if address else 0
    return ROOM - lines - (CORRECTION if corrects else 0)


def _is_backwards(flow: GiftFlow) -> bool:
    return min((*flow.paid.values(), flow.fee_minor, flow.other_costs_minor, flow.waiting_minor), default=0) < 0
