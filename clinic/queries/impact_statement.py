"""What one donor's gifts did in a period, animal by animal: the trace of the books with the clinic's names."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from clinic.models import Animal, House, Stay
from config import charts
from config.charts.flow import each_line_minor
from ledger.formulas import money
from ledger.queries import donor_trace as trace_query
from ledger.queries import gift_flows as flow_query
from ledger.queries import holder
from ledger.queries.donor_trace import DonorTrace, PaidLine, WaitingLine
from ledger.queries.gift_flows import GiftFlow

MOST_DRAWN = 6  # animals in the drawing; the list below it has them all


@dataclass(frozen=True)
class KindPaid:
    words: str
    amount_minor: int


@dataclass(frozen=True)
class Helped:
    """One animal whose care the gifts paid for in part."""

    name: str
    species: str
    about: str
    now: str
    days: int
    kinds: tuple[KindPaid, ...]
    given_minor: int  # what the clinic gave beside it, in proportion to the part that the gifts paid
    paid_minor: int


@dataclass(frozen=True)
class GiftRow:
    received_on: date
    fund: str
    is_new: bool
    start_minor: int
    fee_minor: int
    paid_minor: int
    waiting_minor: int


@dataclass(frozen=True)
class Statement:
    donor_id: int
    donor: str
    address: str
    from_on: date
    to_on: date
    issued_on: date
    house: str
    house_address: str
    paper: str
    holder: str
    is_charity: bool
    currency: str
    digits: int
    signer: str
    gave_minor: int
    before_minor: int
    paid_minor: int
    fees_minor: int
    left_again_minor: int
    waiting_minor: int
    given_minor: int
    helped: tuple[Helped, ...]
    gifts: tuple[GiftRow, ...]
    waiting: tuple[WaitingLine, ...]
    flow: charts.Chart | None
    each_line_minor: int

    @property
    def start_minor(self) -> int:
        return self.before_minor + self.gave_minor

    @property
    def gone_minor(self) -> int:
        return self.fees_minor + self.left_again_minor

    @property
    def issued_word(self) -> str:
        return f"{self.issued_on:%B} {self.issued_on.day}, {self.issued_on.year}"

    @property
    def runner(self) -> str:
        return f"What your gifts did, {self.donor}, {self.from_on} to {self.to_on}"

    @property
    def new_gifts(self) -> int:
        return sum(gift.is_new for gift in self.gifts)

    @property
    def days(self) -> int:
        return sum(animal.days for animal in self.helped)


def impact_statement(
    *, donor_id: int, donor: str, address: str, from_on: date, to_on: date, issued_on: date, house: House, signer: str
) -> Statement:
    """Read the statement of one donor; its sums are the trace of the books and nothing else (I1)."""
    trace = trace_query.donor_trace(donor_id=donor_id, from_on=from_on, to_on=to_on)
    flows = flow_query.gift_flows(donor_id=donor_id, from_on=from_on, to_on=to_on)
    animals = {
        animal.key: animal
        for animal in Animal.objects.filter(key__in={line.subject_key for line in trace.paid}).select_related("partner")
    }
    helped = _helped(trace.paid, animals, to_on)
    facts = holder.holder()
    digits = money.minor_digits(facts.currency)
    each = each_line_minor(trace.given_minor + trace.waiting_before_minor, digits=digits)
    return Statement(
        donor_id=donor_id,
        donor=donor,
        address=address,
        from_on=from_on,
        to_on=to_on,
        issued_on=issued_on,
        house=house.name,
        house_address=house.address,
        paper=house.paper,
        holder=facts.name,
        is_charity=facts.is_charity,
        currency=facts.currency,
        digits=digits,
        signer=signer,
        gave_minor=trace.given_minor,
        before_minor=trace.waiting_before_minor,
        paid_minor=trace.paid_minor,
        fees_minor=trace.fees_minor,
        left_again_minor=trace.left_again_minor,
        waiting_minor=trace.waiting_minor,
        given_minor=sum(animal.given_minor for animal in helped.values()),
        helped=tuple(helped.values()),
        gifts=tuple(_gift(flow) for flow in flows),
        waiting=trace.waiting,
        flow=_flow(trace, flows, helped, animals, digits),
        each_line_minor=each,
    )


def _helped(paid: tuple[PaidLine, ...], animals: dict[str, Animal], on: date) -> dict[str, Helped]:
    """Group the paid lines by animal, the one that received most first."""
    by_animal: dict[str, list[PaidLine]] = defaultdict(list)
    for line in paid:
        by_animal[line.subject_key].append(line)
    stays = _last_stays(animals)
    found = {
        key: Helped(
            name=lines[0].subject_words or animals[key].name,
            species=animals[key].species if key in animals else "",
            about=animals[key].about if key in animals else "",
            now=_now(stays.get(key), on),
            days=len({line.care_on for line in lines}),
            kinds=_kinds(lines),
            given_minor=money.half_up(sum(_beside(line) for line in lines)),
            paid_minor=sum(line.amount_minor for line in lines),
        )
        for key, lines in by_animal.items()
    }
    return dict(sorted(found.items(), key=lambda item: (-item[1].paid_minor, item[1].name)))


def _beside(line: PaidLine) -> Fraction:
    """What the clinic gave on this line, for the part of it that the gifts paid."""
    return Fraction(line.given_minor * line.amount_minor, line.asked_minor) if line.asked_minor else Fraction(0)


def _kinds(lines: list[PaidLine]) -> tuple[KindPaid, ...]:
    sums: dict[str, int] = defaultdict(int)
    for line in lines:
        sums[line.words] += line.amount_minor
    ordered = sorted(sums.items(), key=lambda item: (-item[1], item[0]))
    return tuple(KindPaid(words, amount) for words, amount in ordered)


def _last_stays(animals: dict[str, Animal]) -> dict[str, Stay]:
    key_of = {animal.pk: key for key, animal in animals.items()}
    stays = Stay.objects.filter(animal__in=key_of).order_by("admitted_on")
    return {key_of[stay.animal_id]: stay for stay in stays}


def _now(stay: Stay | None, on: date) -> str:
    """Say how the animal is now, in one sentence; a death is told quietly and never as a headline (I2)."""
    if stay is None:
        return ""
    if stay.discharged_on is None or stay.discharged_on > on:
        return f"Still in our care, day {(on - stay.admitted_on).days + 1}."
    since = f"{stay.discharged_on:%B} {stay.discharged_on.day}"
    words = {
        Stay.LeftTo.FOSTER: f"In a foster home since {since}.",
        Stay.LeftTo.PARTNER: f"Back with its rescue group since {since}.",
        Stay.LeftTo.ADOPTED: f"Adopted on {since}.",
        Stay.LeftTo.DIED: f"Died on {since}, cared for to the last.",
        Stay.LeftTo.EUTHANIZED: f"Died on {since}, cared for to the last.",
    }
    return words.get(stay.left_to, f"Left our care on {since}.")


def _gift(flow: GiftFlow) -> GiftRow:
    return GiftRow(
        received_on=flow.received_on,
        fund=flow.fund_name,
        is_new=flow.is_new,
        start_minor=flow.start_minor,
        fee_minor=flow.fee_minor,
        paid_minor=flow.paid_minor,
        waiting_minor=flow.waiting_minor,
    )


def _flow(
    trace: DonorTrace,
    flows: tuple[GiftFlow, ...],
    helped: dict[str, Helped],
    animals: dict[str, Animal],
    digits: int,
) -> charts.Chart | None:
    """Draw the gifts running to the animals; none where a correction or a return would draw a line backwards."""
    if not flows or trace.left_again_minor or any(min(flow.paid.values(), default=0) < 0 for flow in flows):
        return None
    fees, waits = any(flow.fee_minor for flow in flows), any(flow.waiting_minor for flow in flows)
    drawn = list(helped)[:MOST_DRAWN] if len(helped) > MOST_DRAWN + 1 else list(helped)
    others = [key for key in helped if key not in drawn]
    targets = [charts.Target(words=helped[key].name, kind="animal", species=helped[key].species) for key in drawn]
    targets += [charts.Target(words=f"and {len(others)} others", kind="animal", species="")] if others else []
    targets += [charts.Target(words="Giving-site fees", kind="fee")] if fees else []
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
                    + ([flow.waiting_minor] if waits else [])
                ),
            )
            for flow in flows
        ],
        targets=targets,
        digits=digits,
    )
