"""What one donor's gifts did in a period, animal by animal: the trace of the books with the clinic's names."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from clinic.queries.gift_drawing import gift_drawing, room_beside
from clinic.queries.helped_animals import Helped, helped_animals
from clinic.queries.paper_head import Headed
from clinic.queries.stationery import Stationery
from config import charts
from config.charts.flow import each_line_minor
from config.days import day_year
from ledger.queries import donor_choices, donor_money, donor_trace, funds, gift_flows, one_donor, policies, sums
from ledger.queries.donor_trace import FundPaid, WaitingLine
from ledger.queries.gift_flows import GiftFlow

FULL, SHORT = "full", "short"
SHOWN_IN_SHORT = 3
ROWS_OF_A_TABLE = 60  # a table that runs over many leaves is cut into several, each with its heads


@dataclass(frozen=True, kw_only=True)
class GiftRow:
    gift_id: int
    received_on: date
    fund: str
    is_new: bool
    start_minor: int
    fee_minor: int
    other_costs_minor: int
    left_again_minor: int
    paid_minor: int
    waiting_minor: int


@dataclass(frozen=True, kw_only=True)
class Statement(Headed):
    donor_id: int
    donor: str
    address: str
    from_on: date
    to_on: date
    issued_on: date
    number: str  # empty while it is a draft
    corrects: str  # the paper whose place it takes, in words
    form: str
    letter: tuple[str, ...]  # the last words, as the manager wrote them
    signer: str
    as_of: int
    gave_minor: int
    before_minor: int
    paid_minor: int
    fees_minor: int
    other_costs_minor: int
    left_again_minor: int
    waiting_minor: int
    given_minor: int
    helped: tuple[Helped, ...]
    gifts: tuple[GiftRow, ...]
    paid_by_fund: tuple[FundPaid, ...]
    waiting: tuple[WaitingLine, ...]
    flow: charts.Chart | None
    each_line_minor: int
    begun_on: date | None  # where the donor gave in these days before the books began

    @property
    def start_minor(self) -> int:
        return self.before_minor + self.gave_minor

    @property
    def gone_minor(self) -> int:
        return self.fees_minor + self.other_costs_minor + self.left_again_minor

    @property
    def gone_words(self) -> str:
        """What is in `gone_minor`, by what there is."""
        others = ("other costs" if self.other_costs_minor else "", "what went back" if self.left_again_minor else "")
        return ", ".join(["giving-site fees", *filter(None, others)])

    @property
    def has_other_costs(self) -> bool:
        return any(gift.other_costs_minor for gift in self.gifts)

    @property
    def has_left_again(self) -> bool:
        return any(gift.left_again_minor for gift in self.gifts)

    @property
    def is_short(self) -> bool:
        return self.form == SHORT

    @property
    def shown(self) -> tuple[Helped, ...]:
        """The animals that have a row of their own: in the short form three, unless that leaves only one over."""
        if self.is_short and len(self.helped) > SHOWN_IN_SHORT + 1:
            return self.helped[:SHOWN_IN_SHORT]
        return self.helped

    @property
    def others(self) -> tuple[Helped, ...]:
        return self.helped[len(self.shown) :]

    @property
    def others_paid_minor(self) -> int:
        return sum(animal.paid_minor for animal in self.others)

    @property
    def others_given_minor(self) -> int:
        return sum(animal.given_minor for animal in self.others)

    @property
    def chosen(self) -> tuple[Helped, ...]:
        return tuple(animal for animal in self.shown if animal.chosen)

    @property
    def without_line(self) -> tuple[str, ...]:
        """The animals whose medical line no vet has approved as they stood by then (I3)."""
        return tuple(animal.name for animal in self.chosen if animal.chosen and not animal.chosen.medical_line)

    @property
    def gift_tables(self) -> tuple[tuple[GiftRow, ...], ...]:
        starts = range(0, len(self.gifts), ROWS_OF_A_TABLE)
        return tuple(self.gifts[start : start + ROWS_OF_A_TABLE] for start in starts)

    @property
    def issued_word(self) -> str:
        return day_year(self.issued_on)

    @property
    def issued_words(self) -> str:
        return f"Issued {self.issued_word}" if self.number else f"As the books stood on {self.issued_word}"

    @property
    def number_words(self) -> str:
        return f"No. {self.number}" if self.number else "Draft, not issued"

    @property
    def runner(self) -> str:
        days = " to ".join(day_year(on) for on in (self.from_on, self.to_on))
        return f"What your gifts did, {self.donor}, {days}"

    @property
    def new_gifts(self) -> int:
        return sum(gift.is_new for gift in self.gifts)

    @property
    def days(self) -> int:
        return sum(animal.days for animal in self.helped)

    def sums(self) -> dict[str, int]:
        """Return its sums in minor units, by the words under which a paper keeps them."""
        return {
            "waiting before": self.before_minor,
            "given": self.gave_minor,
            "paid for care": self.paid_minor,
            "giving-site fees": self.fees_minor,
            "other costs": self.other_costs_minor,
            "left again": self.left_again_minor,
            "not yet spent": self.waiting_minor,
            "given by the clinic beside it": self.given_minor,
        }

    def kept_facts(self) -> dict[str, Any]:
        """Return what is kept of an issued statement: ids and figures, and no name that somebody typed."""
        return {
            "form": self.form,
            "as_of": self.as_of,
            "currency": self.currency,
            "donor_id": self.donor_id,
            "sums": self.sums(),
            "animals": [[animal.key, animal.days, animal.paid_minor, animal.given_minor] for animal in self.helped],
            "medical_lines": [
                animal.chosen.line_id for animal in self.chosen if animal.chosen and animal.chosen.line_id
            ],
            "photos": [animal.photo.photo_id for animal in self.shown if animal.photo],
            "gifts": [
                [gift.gift_id, gift.start_minor, gift.fee_minor, gift.paid_minor, gift.waiting_minor]
                for gift in self.gifts
            ],
            "funds": [[fund.fund_id, fund.amount_minor] for fund in self.paid_by_fund],
            "waiting": [[fund.fund_id, fund.amount_minor] for fund in self.waiting],
        }


def impact_statement(
    *,
    donor_id: int,
    donor: str,
    address: str,
    from_on: date,
    to_on: date,
    issued_on: date,
    stationery: Stationery,
    signer: str,
    form: str = "",
    number: str = "",
    corrects: str = "",
    ids: tuple[int, ...] = (),
) -> Statement:
    """Read the statement of one donor; its sums are the trace of the books and nothing else (I1).

    Without a `form` it is the one that the house's policy gives for what the donor gave in that year (I2). `ids` are
    those that stand for the donor, where they were read already.
    """
    as_of, digits = sums.last_number(), stationery.head.digits
    ids = ids or one_donor.whole(donor_id=donor_id)
    read = donor_money.donor_money(ids=ids, from_on=from_on, to_on=to_on)
    trace, flows = donor_trace.traced(read), gift_flows.flows(read)
    helped = helped_animals(paid=trace.paid, on=to_on, photos_on=issued_on)
    form = form if form in (FULL, SHORT) else _form_of(donor_id, to_on)
    most = {"most": SHOWN_IN_SHORT} if form == SHORT else {}
    room = room_beside(address=address, corrects=corrects)
    return Statement(
        head=stationery.head,
        donor_id=donor_id,
        donor=donor,
        address=address,
        from_on=from_on,
        to_on=to_on,
        issued_on=issued_on,
        number=number,
        corrects=corrects,
        form=form,
        letter=stationery.letter("statement", donor=donor),
        signer=signer,
        as_of=as_of,
        gave_minor=trace.given_minor,
        before_minor=trace.waiting_before_minor,
        paid_minor=trace.paid_minor,
        fees_minor=trace.fees_minor,
        other_costs_minor=trace.other_costs_minor,
        left_again_minor=trace.left_again_minor,
        waiting_minor=trace.waiting_minor,
        given_minor=sum(animal.given_minor for animal in helped.values()),
        helped=tuple(helped.values()),
        gifts=tuple(_gift(flow) for flow in flows),
        paid_by_fund=trace.paid_by_fund,
        waiting=trace.waiting,
        flow=gift_drawing(trace=trace, flows=flows, helped=helped, digits=digits, room=room, **most),
        each_line_minor=each_line_minor(trace.given_minor + trace.waiting_before_minor, digits=digits),
        begun_on=funds.general_fund().opened_on if trace.gave_before_the_books else None,
    )


def _form_of(donor_id: int, on: date) -> str:
    """The short form below the sum that the policy sets, counted over the calendar year; the full one otherwise."""
    below = policies.policy(code="short_form_below", on=on)
    if not isinstance(below, int) or isinstance(below, bool):
        return FULL
    year = {"from_on": on.replace(month=1, day=1), "to_on": on.replace(month=12, day=31)}
    donor = donor_choices.donor_choice(donor_id=donor_id, **year)
    return SHORT if donor is None or donor.given_minor < below else FULL


def _gift(flow: GiftFlow) -> GiftRow:
    return GiftRow(
        gift_id=flow.gift_id,
        received_on=flow.received_on,
        fund=flow.fund_name,
        is_new=flow.is_new,
        start_minor=flow.start_minor,
        fee_minor=flow.fee_minor,
        other_costs_minor=flow.other_costs_minor,
        left_again_minor=flow.left_again_minor,
        paid_minor=flow.paid_minor,
        waiting_minor=flow.waiting_minor,
    )
