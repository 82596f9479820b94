"""What a reversal gives back: every posting that stands, the shares that follow, and what plans had set aside."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from django.db.models import Sum

from ledger.drafts import Leg, Part
from ledger.models import Charge, Commitment, CommitmentMove, Entry, Posting, Share
from ledger.models.accounts import effect

Kept = tuple[tuple[Commitment, int], ...]


def moved_charge(entry: Entry) -> Charge | None:
    share = entry.shares.select_related("charge").first()
    return share.charge if share else None


def all_back(entry: Entry, charge: Charge | None) -> tuple[tuple[Leg, ...], tuple[Part, ...]]:
    """Return the legs that give back what stands, money in before money out, and the shares that follow."""
    standing = Posting.objects.filter(back_of=None, **({"charge": charge} if charge else {"entry": entry}))
    postings = list(standing.order_by("id"))
    given = back_so_far(postings)
    shares = shares_on(postings)
    kept = kept_of(postings)
    postings.sort(key=lambda posting: (effect(posting.debit_id, posting.credit_id), posting.id))
    legs, parts = [], []
    for posting in postings:
        amount = posting.amount_minor - given.get(posting.id, 0)
        if not amount:
            continue
        legs.append(leg_back(posting, amount))
        if share := shares.get(posting.id):
            back = kept_back(kept.get(posting.id, []), amount, amount)
            parts.append(part_back(share, -amount, leg=len(legs), kept=back))
    scope = {"charge": charge} if charge else {"entry": entry}
    unpaid = Share.objects.filter(payer=Share.Payer.NOBODY, **scope)
    total = sum(share.amount_minor for share in unpaid)
    if total:
        parts.append(part_back(unpaid[0], -total))
    return tuple(legs), tuple(parts)


def back_so_far(postings: Iterable[Posting]) -> dict[int, int]:
    """Return what has been given back of each posting, by its id."""
    back = Posting.objects.filter(back_of__in=list(postings))
    return dict(back.values_list("back_of").annotate(back=Sum("amount_minor")))


def shares_on(postings: Iterable[Posting]) -> dict[int, Share]:
    rows = Share.objects.filter(posting__in=list(postings)).select_related("charge")
    return {share.posting_id: share for share in rows}


def kept_of(postings: Iterable[Posting]) -> dict[int, list[tuple[Commitment, int]]]:
    """Return what still stands on each posting out of commitments, by the posting's id."""
    ids = [posting.id for posting in postings]
    net: dict[tuple[int, int], int] = defaultdict(int)
    rows = {}
    moves = CommitmentMove.objects.filter(posting__in=ids) | CommitmentMove.objects.filter(posting__back_of__in=ids)
    for move in moves.select_related("commitment", "posting").order_by("id"):
        root = move.posting.back_of_id or move.posting_id
        net[root, move.commitment_id] += move.amount_minor
        rows[move.commitment_id] = move.commitment
    kept: dict[int, list[tuple[Commitment, int]]] = defaultdict(list)
    for (root, number), minor in net.items():
        if minor:
            kept[root].append((rows[number], minor))
    return kept


def kept_back(kept: Iterable[tuple[Commitment, int]], standing_minor: int, amount_minor: int) -> Kept:
    """Return what of `amount_minor` goes back into plans: what was not set aside goes back first."""
    rows = list(kept)
    free = standing_minor - sum(minor for _, minor in rows)
    left, back = max(amount_minor - max(free, 0), 0), []
    for row, minor in reversed(rows):
        part = min(minor, left)
        if part:
            back.append((row, -part))
            left -= part
    return tuple(back)


def leg_back(posting: Posting, amount_minor: int, **facts) -> Leg:
    return Leg(
        debit=posting.credit_id,
        credit=posting.debit_id,
        fund_id=posting.fund_id,
        amount_minor=amount_minor,
        back_of=posting,
        **facts,
    )


def part_back(
    share: Share, amount_minor: int, *, leg: int | None = None, kept: Kept = (), reason: str = "given_back", **facts
) -> Part:
    return Part(
        payer=share.payer,
        rank=share.rank,
        reason=reason,
        rooted=share.reason,
        amount_minor=amount_minor,
        fund_id=share.fund_id,
        leg=leg,
        kept=kept,
        **facts,
    )


def mirrored(charge: Charge) -> Charge:
    return Charge(
        subject_key=charge.subject_key,
        party_key=charge.party_key,
        plan_key=charge.plan_key,
        kind_id=charge.kind_id,
        traits=charge.traits,
        care_on=charge.care_on,
        is_late=charge.is_late,
        unit=charge.unit,
        quantity_thousandths=-charge.quantity_thousandths,
        cost_minor=-charge.cost_minor,
        usual_minor=-charge.usual_minor,
        asked_minor=-charge.asked_minor,
        goods_minor=-charge.goods_minor,
        time_minor=-charge.time_minor if charge.time_minor else None,
        owed_to=charge.owed_to,
        reverses=charge,
    )
