"""A gift goes back: refunded, charged back, or typed wrong, after it was spent or before, as one entry (E3).

What it paid is given back to it, the money leaves, and what it had paid is shared again by today's order. What
finds no payer is care nobody has paid: a return is always recorded, because the bank may have taken it already.

PostingRefused
└── ReturnRefused
    ├── GiftOfGoods      goods are not money: take their entry back
    ├── GiftFromBefore   its money was never in these books
    ├── ReturnTooLarge   more than what is left of the gift after earlier returns
    └── ReturnUnclear    neither refunded, nor charged back, nor typed wrong
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import Sum

from ledger import posting
from ledger.actions.charges import shared_legs
from ledger.formulas.slips import Slip
from ledger.giving_back import back_so_far, kept_back, kept_of, leg_back, part_back, shares_on
from ledger.models import (
    Agreement,
    Charge,
    Commitment,
    Entry,
    Fund,
    Gift,
    GiftReturn,
    Inflow,
    Posting,
    Share,
    Use,
    Words,
    accounts,
)
from ledger.models import traits as trait_words
from ledger.posting import Draft, Leg, Part, PostingRefused
from ledger.queries.funds import general_fund
from ledger.queries.sharing import Purses


class ReturnRefused(PostingRefused):
    """Nothing was returned; the books were left as they were."""


class GiftOfGoods(ReturnRefused):
    def __init__(self) -> None:
        super().__init__("This gift was of goods. Nothing was changed. Take its entry back instead.")


class GiftFromBefore(ReturnRefused):
    def __init__(self) -> None:
        super().__init__(
            "This gift is from before these books began, so none of their money is its own. Nothing was changed. "
            "Record what the bank took under Money in and out, and take back the entry of the gift, so that it has no "
            "receipt."
        )


class ReturnTooLarge(ReturnRefused):
    field = "amount_minor"

    def __init__(self) -> None:
        super().__init__(
            "More would go back than is left of this gift after what went back before. Nothing was changed. "
            "Look at its earlier returns, and write at most what remains."
        )


class ReturnUnclear(ReturnRefused):
    field = "how"

    def __init__(self) -> None:
        super().__init__("Say whether the gift is refunded, charged back or was typed wrong. Nothing was changed.")


@dataclass
class _Going:
    """What of a gift goes: from which inflow how much, and what of each posting is given back to which inflow."""

    leaving: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    back: dict[int, dict[int, int]] = field(default_factory=lambda: defaultdict(lambda: defaultdict(int)))
    inflows: dict[int, Inflow] = field(default_factory=dict)
    postings: dict[int, Posting] = field(default_factory=dict)

    def traced(self, posting: Posting) -> tuple[tuple[Inflow, int], ...]:
        return tuple((self.inflows[number], minor) for number, minor in self.back[posting.id].items())

    def minor(self, posting: Posting) -> int:
        return sum(self.back[posting.id].values())


@transaction.atomic
def give_back(
    *,
    key: UUID,
    gift_id: int,
    how: str,
    by: int,
    today: date,
    at: datetime,
    why: str,
    amount_minor: int | None = None,
    way: str = "bank",
    fee_minor: int = 0,
) -> GiftReturn:
    """Record that a gift, or `amount_minor` of it, went back; dated today.

    `how` is refund, chargeback or mistyped, `way` is bank or giving_site: from where the money was taken. What is
    unspent goes first, then the latest use is given back. A fee that the rest of the gift no longer bears moves to
    general money; the fee of a gift that was typed wrong never was. `fee_minor` is what the site asks for the return
    itself, general money's too; below zero it is what it gives back of its fee, which nobody bears then.

    :raises ReturnRefused: when there is not so much of the gift to return.
    :raises KeyUsedBefore: when the key came before with other content.
    """
    sent = {"returns": gift_id, "amount": amount_minor, "how": how, "way": way, "why": why}
    sent |= {"fee": fee_minor} if fee_minor else {}
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key].gift_return
    gift = Gift.objects.select_related("entry", "entry__words").get(id=gift_id)
    if gift.way == Gift.Way.PAST:
        raise GiftFromBefore
    amount_minor = checked_amount(gift, amount_minor, how)
    going = _going(gift, amount_minor)
    row = GiftReturn(gift=gift, how=how, amount_minor=amount_minor)
    borne_minor = min(_fee_borne(going), max(-fee_minor, 0))
    legs, parts = _legs(going, gift=gift, how=how, way=way, key=key, today=today, fee_given_minor=borne_minor)
    draft = Draft(
        key=key,
        kind=Entry.Kind.RETURN,
        on=today,
        sent=sent,
        legs=(*legs, *_fee(fee_minor + borne_minor, way)),
        parts=tuple(parts),
        gift_return=row,
        note=why,
    )
    posting.post(draft, by=by, at=at)
    return row


def checked_amount(gift: Gift, amount_minor: int | None, how: str) -> int:
    """Return how much of a gift goes back: all that is left of it where no amount is said.

    :raises ReturnRefused: when there is not so much, or nobody says how it goes.
    """
    if how not in GiftReturn.How.values:
        raise ReturnUnclear
    if gift.way == Gift.Way.GOODS:
        raise GiftOfGoods
    gone = gift.returns.aggregate(total=Sum("amount_minor"))["total"] or 0
    reversed_ = Entry.objects.filter(reverses=gift.entry).exists()
    left = 0 if reversed_ else gift.amount_minor - gone
    wanted = left if amount_minor is None else amount_minor
    if not 0 < wanted <= left:
        raise ReturnTooLarge
    return wanted


def _going(gift: Gift, amount_minor: int) -> _Going:
    going, missing = _Going(), amount_minor
    for inflow in gift.inflows.order_by("-id"):
        going.inflows[inflow.id] = inflow
        part = min(inflow.left_minor, missing)
        if part:
            going.leaving[inflow.id] += part
            missing -= part
    for root, inflow_id, net in _standing_uses(gift):
        part = min(net, missing)
        if part:
            going.postings[root.id] = root
            going.back[root.id][inflow_id] += part
            going.leaving[inflow_id] += part
            missing -= part
    if missing:
        raise ReturnTooLarge
    return going


def _standing_uses(gift: Gift) -> list[tuple[Posting, int, int]]:
    """Return what the gift still pays: (posting, inflow, amount), the latest first; money that left is no use."""
    net: dict[tuple[int, int], int] = defaultdict(int)
    last: dict[tuple[int, int], int] = {}
    roots = {}
    uses = Use.objects.filter(inflow__gift=gift).select_related(
        "posting__back_of__charge", "posting__back_of__fund", "posting__charge", "posting__fund"
    )
    for use in uses.order_by("id"):
        root = use.posting.back_of or use.posting
        roots[root.id] = root
        net[root.id, use.inflow_id] += use.amount_minor
        if use.amount_minor > 0:
            last[root.id, use.inflow_id] = use.id
    order = sorted((place for place, minor in net.items() if minor > 0), key=lambda place: -last.get(place, 0))
    gone = {accounts.TRANSFERS, *(code for code, kind in accounts.KIND_OF.items() if kind == accounts.Kind.INCOME)}
    return [(roots[root], inflow, net[root, inflow]) for root, inflow in order if roots[root].debit_id not in gone]


def _legs(
    going: _Going, *, gift: Gift, how: str, way: str, key: UUID, today: date, fee_given_minor: int
) -> tuple[list[Leg], list[Part]]:
    """Money in before money out: what it paid comes back, the gift leaves, and others pay what it had paid."""
    care = [row for _, row in sorted(going.postings.items()) if row.charge_id]
    other = [row for _, row in sorted(going.postings.items()) if not row.charge_id]
    legs, parts, restored = _care_back(care, going)
    legs += [leg_back(row, going.minor(row), traced=going.traced(row)) for row in other]
    legs += _leaving(going, gift=gift, how=how, way=way)
    legs += _other_again(other, going, how=how, fee_given_minor=fee_given_minor)
    charges = {row.charge_id: row.charge for row in care}
    slips = {place: _slip(charges[place[0]], minor, key=key) for place, minor in _unpaid(care, going).items()}
    purses = Purses(slips=list(slips.values()), today=today, moved=_moved(legs), again=True, restored=restored)
    for row in care:
        purses.give_back(slips[_place(row)], fund_id=row.fund_id, amount_minor=going.minor(row))
    for (number, names_animal), slip in slips.items():
        charge = charges[number]
        agreed = _agreed_on_the_whole(charge) if names_animal else _has_agreement(charge)
        more, theirs = shared_legs(purses.share(slip, without_agreement=agreed), charge=charge, so_far=len(legs))
        legs += more
        parts += theirs
    return legs, parts


def _care_back(care: Sequence[Posting], going: _Going) -> tuple[list[Leg], list[Part], list[tuple[Commitment, int]]]:
    shares, kept, given = shares_on(care), kept_of(care), back_so_far(care)
    legs: list[Leg] = []
    parts: list[Part] = []
    restored: list[tuple[Commitment, int]] = []
    for row in care:
        minor, share = going.minor(row), shares[row.id]
        legs.append(leg_back(row, minor, traced=going.traced(row), charge=share.charge))
        back = kept_back(kept.get(row.id, []), row.amount_minor - given.get(row.id, 0), minor)
        restored += [(commitment, -part) for commitment, part in back]
        parts.append(part_back(share, -minor, leg=len(legs), kept=back, reason="returned", charge=share.charge))
    return legs, parts, restored


def _leaving(going: _Going, *, gift: Gift, how: str, way: str) -> list[Leg]:
    """Let the money go from where it is, to where it was taken from."""
    into = Posting.objects.filter(entry=gift.entry_id, inflows__gift=gift).order_by("leg").first()
    income = into.credit_id if into else accounts.GIFTS
    held = _held(way)
    if how == GiftReturn.How.MISTYPED and into and into.debit_id in (accounts.BANK, accounts.CLEARING):
        held = into.debit_id
    return [
        Leg(
            debit=income,
            credit=held,
            fund_id=going.inflows[number].fund_id,
            amount_minor=minor,
            traced=((going.inflows[number], minor),),
        )
        for number, minor in sorted(going.leaving.items())
    ]


def _held(way: str) -> str:
    return accounts.CLEARING if way == Gift.Way.GIVING_SITE else accounts.BANK


def _fee(fee_minor: int, way: str) -> tuple[Leg, ...]:
    """What the site asks for the return, or gives back of its fee."""
    if not fee_minor:
        return ()
    asked, given = (accounts.FEES, _held(way)), (_held(way), accounts.FEES)
    debit, credit = asked if fee_minor > 0 else given
    general = general_fund().id
    return (Leg(debit=debit, credit=credit, fund_id=general, amount_minor=abs(fee_minor), may_go_short=True),)


def _fee_borne(going: _Going) -> int:
    """What of the fees of giving sites the gift had paid and no longer bears."""
    return sum(going.minor(row) for row in going.postings.values() if row.debit_id == accounts.FEES)


def _other_again(other: Sequence[Posting], going: _Going, *, how: str, fee_given_minor: int) -> list[Leg]:
    """What the gift paid beside care: its fee moves to general money, less what the site gives back of it."""
    general, given, legs = general_fund().id, fee_given_minor, []
    for row in other:
        minor, is_fee = going.minor(row), row.debit_id == accounts.FEES
        if is_fee:
            part = minor if how == GiftReturn.How.MISTYPED else min(minor, given)
            given, minor = given - part, minor - part
        if minor:
            fund_id = general if is_fee else row.fund_id
            leg = Leg(debit=row.debit_id, credit=row.credit_id, fund_id=fund_id, amount_minor=minor, may_go_short=True)
            legs.append(leg)
    return legs


def _moved(legs: Iterable[Leg]) -> dict[int, int]:
    moved: dict[int, int] = defaultdict(int)
    for leg in legs:
        moved[leg.fund_id] += leg.amount_minor * accounts.effect(leg.debit, leg.credit)
    return moved


Place = tuple[int, bool]  # the charge, and whether gifts that name the animal had paid the part


def _place(row: Posting) -> Place:
    return row.charge_id, row.fund.kind == Fund.Kind.ANIMAL


def _unpaid(care: Sequence[Posting], going: _Going) -> dict[Place, int]:
    """Sum up by line what had been paid, apart for gifts that name the animal: an agreement shares what those leave."""
    unpaid: dict[Place, int] = defaultdict(int)
    for row in care:
        unpaid[_place(row)] += going.minor(row)
    return unpaid


def _slip(charge: Charge, amount_minor: int, *, key: UUID) -> Slip:
    """The part of a charge that looks for a payer again; it counts today, whatever its day of care."""
    words = Words.objects.filter(entry=charge.entry_id).first() or Words()
    return Slip(
        key=uuid5(key, f"{charge.id} {amount_minor}"),
        subject_key=charge.subject_key,
        party_key=charge.party_key,
        plan_key=charge.plan_key,
        kind=charge.kind_id,
        traits=trait_words.unpack(charge.traits),
        care_on=charge.care_on,
        words=words.line or "care",
        subject_words=words.subject,
        quantity=Decimal(charge.quantity_thousandths) / 1000,
        unit=charge.unit,
        cost_minor=0,
        usual_minor=amount_minor,
        asked_minor=amount_minor,
        owed_to=charge.owed_to or "practice",
        late=True,
    )


def _has_agreement(charge: Charge) -> bool:
    """The partner's part was taken before this payer's: it pays that part and no part of what comes free behind it."""
    shares = Share.objects.filter(charge=charge, payer=Share.Payer.AGREEMENT)
    return (shares.aggregate(total=Sum("amount_minor"))["total"] or 0) > 0


def _agreed_on_the_whole(charge: Charge) -> bool:
    """A partner that pays its share of the whole line has paid it already."""
    if not _has_agreement(charge):
        return False
    agreements = Agreement.objects.filter(party_key=charge.party_key, from_on__lte=charge.care_on)
    last = agreements.order_by("-from_on").first()
    return bool(last and last.of == Agreement.Of.WHOLE)
