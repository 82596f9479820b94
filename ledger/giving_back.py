"""What a reversal gives back: every posting that stands, and the shares that follow."""

from __future__ import annotations

from django.db.models import Sum

from ledger.drafts import Leg, Part
from ledger.models import Charge, Entry, Posting, Share
from ledger.models.accounts import effect


def moved_charge(entry: Entry) -> Charge | None:
    share = entry.shares.select_related("charge").first()
    return share.charge if share else None


def all_back(entry: Entry, charge: Charge | None) -> tuple[tuple[Leg, ...], tuple[Part, ...]]:
    """Return the legs that give back what stands, money in before money out, and the shares that follow."""
    standing = Posting.objects.filter(back_of=None, **({"charge": charge} if charge else {"entry": entry}))
    postings = list(standing.order_by("id"))
    given = dict(Posting.objects.filter(back_of__in=postings).values_list("back_of").annotate(back=Sum("amount_minor")))
    shares = {share.posting_id: share for share in Share.objects.filter(posting__in=postings)}
    postings.sort(key=lambda posting: (effect(posting.debit_id, posting.credit_id), posting.id))
    legs, parts = [], []
    for posting in postings:
        amount = posting.amount_minor - given.get(posting.id, 0)
        if not amount:
            continue
        legs.append(
            Leg(
                debit=posting.credit_id,
                credit=posting.debit_id,
                fund_id=posting.fund_id,
                amount_minor=amount,
                back_of=posting,
            )
        )
        if share := shares.get(posting.id):
            parts.append(_part_back(share, -amount, len(legs)))
    scope = {"charge": charge} if charge else {"entry": entry}
    unpaid = Share.objects.filter(payer=Share.Payer.NOBODY, **scope)
    total = sum(share.amount_minor for share in unpaid)
    if total:
        parts.append(_part_back(unpaid[0], -total, None))
    return tuple(legs), tuple(parts)


def _part_back(share: Share, amount_minor: int, leg: int | None) -> Part:
    return Part(
        payer=share.payer,
        rank=share.rank,
        reason="given_back",
        amount_minor=amount_minor,
        fund_id=share.fund_id,
        leg=leg,
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
        reverses=charge,
    )
