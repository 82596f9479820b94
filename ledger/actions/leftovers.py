"""What is left of a restricted fund that is not needed any more goes where its leftover clause says (E4).

PostingRefused
└── LeftoverRefused
    ├── NothingLeft         there is no money of this kind in the fund
    ├── NotRestricted       money that nobody restricted moves by a plain transfer
    ├── ClauseGoesElsewhere the clause names another fund
    ├── NotJudged           nobody has said yet that the clause applies
    ├── ClauseSeen          the giver saw the clause, so there is nothing to ask
    ├── GiverUnknown        a gift of somebody unknown cannot be sent back
    └── WhyMissing          who decides says why
"""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from ledger import posting
from ledger.actions.transfers import between, check_between
from ledger.models import Entry, Fund, Gift, GiftReturn, Inflow, LeftoverAnswer, accounts
from ledger.posting import Draft, KeyUsedBefore, Leg, PostingRefused


class LeftoverRefused(PostingRefused):
    """Nothing was moved; the books were left as they were."""


class NothingLeft(LeftoverRefused):
    def __init__(self, name: str) -> None:
        super().__init__(f"Nothing of this is left in {name}. Nothing was moved, and nothing needs to be.")


class NotRestricted(LeftoverRefused):
    def __init__(self, name: str) -> None:
        super().__init__(f"{name} is not restricted by its givers. Nothing was moved. Record a transfer instead.")


class ClauseGoesElsewhere(LeftoverRefused):
    field = "to_fund_id"

    def __init__(self, name: str) -> None:
        super().__init__(f"The clause of this fund names {name}. Nothing was moved. Choose {name}.")


class NotJudged(LeftoverRefused):
    def __init__(self, name: str) -> None:
        super().__init__(
            f"Nobody has said yet that the leftover clause of {name} applies. Nothing was moved. "
            "Move what was given under the clause first."
        )


class ClauseSeen(LeftoverRefused):
    def __init__(self) -> None:
        super().__init__(
            "This giver saw the leftover clause. Nothing was moved. Move what is left of the fund under it."
        )


class GiverUnknown(LeftoverRefused):
    field = "answer"

    def __init__(self) -> None:
        super().__init__("Nobody knows who gave this, so it cannot go back. Nothing was moved. Let it move or stay.")


class WhyMissing(LeftoverRefused):
    field = "why"

    def __init__(self) -> None:
        super().__init__("Write why, in a few words. Nothing was moved.")


@transaction.atomic
def move(*, key: UUID, fund_id: int, to_fund_id: int, why: str, by: int, today: date, at: datetime) -> Entry | None:
    """Judge that a fund's clause applies, and move what was given under it; gifts without a clause wait for answers.

    The first judgment stands on the fund; what comes back to it later moves by the same way. Returns None where
    everything that is left waits for an answer.

    :raises LeftoverRefused: when the clause cannot apply or the fund is empty.
    :raises TransferRefused: when the money cannot go to that fund.
    """
    sent = {"leftover": fund_id, "to": to_fund_id, "why": why.strip()}
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key]
    fund, taking = _checked(fund_id, to_fund_id, why)
    under_clause = list(_left(fund).exclude(gift__clause_unseen=True))
    if not under_clause and (fund.leftover_by or not _left(fund).exists()):
        raise NothingLeft(fund.name)
    if fund.leftover_by is None:
        fund.leftover_to, fund.leftover_by, fund.leftover_on, fund.leftover_why = taking, by, today, why.strip()
        fund.save(update_fields=["leftover_to", "leftover_by", "leftover_on", "leftover_why"])
    if not under_clause:
        return None
    return posting.post(_draft(key, fund, taking, under_clause, on=today, sent=sent, why=why), by=by, at=at)


@transaction.atomic
def answer(
    *, key: UUID, fund_id: int, gift_id: int, answer: str, why: str, by: int, today: date, at: datetime
) -> LeftoverAnswer:
    """Record what a giver who never saw the clause wants: move, refund or leave; silence moves nothing.

    :raises LeftoverRefused: when there is nothing to ask, nobody judged that the clause applies, or it cannot go back.
    """
    posting.lock()
    said = (fund_id, gift_id, answer, why.strip())
    if known := LeftoverAnswer.objects.filter(key=key).first():
        if (known.fund_id, known.gift_id, known.answer, known.why) != said:
            raise KeyUsedBefore
        return known
    fund, gift = Fund.objects.get(id=fund_id), Gift.objects.get(id=gift_id)
    if not why.strip():
        raise WhyMissing
    if not gift.clause_unseen:
        raise ClauseSeen
    if fund.leftover_by is None:
        raise NotJudged(fund.name)
    left = list(_left(fund).filter(gift=gift))
    if not left:
        raise NothingLeft(fund.name)
    entry = _follow(key, LeftoverAnswer.Answer(answer), fund, gift, left, why=why, by=by, today=today, at=at)
    return LeftoverAnswer.objects.create(
        key=key,
        gift=gift,
        fund=fund,
        answer=answer,
        why=why.strip(),
        amount_minor=sum(inflow.left_minor for inflow in left),
        entry=entry,
        on=today,
        by=by,
        at=at,
    )


def _follow(
    key: UUID, answer: str, fund: Fund, gift: Gift, left: list[Inflow], *, why: str, by: int, today: date, at: datetime
) -> Entry | None:
    sent = {"leftover_answer": answer, "fund": fund.id, "gift": gift.id, "why": why.strip()}
    if answer == LeftoverAnswer.Answer.LEAVE:
        return None
    if answer == LeftoverAnswer.Answer.MOVE:
        check_between(fund, fund.leftover_to)
        return posting.post(_draft(key, fund, fund.leftover_to, left, on=today, sent=sent, why=why), by=by, at=at)
    if gift.donor_id is None:
        raise GiverUnknown
    came = gift.entry.postings.filter(inflows__gift=gift).first()
    leg = Leg(
        debit=came.credit_id if came else accounts.GIFTS,
        credit=accounts.BANK,
        fund_id=fund.id,
        amount_minor=sum(inflow.left_minor for inflow in left),
        traced=tuple((inflow, inflow.left_minor) for inflow in left),
    )
    back = GiftReturn(gift=gift, how=GiftReturn.How.REFUND, amount_minor=leg.amount_minor)
    draft = Draft(key=key, kind=Entry.Kind.RETURN, on=today, sent=sent, legs=(leg,), gift_return=back, note=why)
    return posting.post(draft, by=by, at=at)


def _checked(fund_id: int, to_fund_id: int, why: str) -> tuple[Fund, Fund]:
    fund = Fund.objects.select_related("leftover_to").get(id=fund_id)
    taking = Fund.objects.get(id=to_fund_id)
    if not fund.is_restricted:
        raise NotRestricted(fund.name)
    if not why.strip():
        raise WhyMissing
    check_between(fund, taking)
    if fund.leftover_to and fund.leftover_to != taking:
        raise ClauseGoesElsewhere(fund.leftover_to.name)
    return fund, taking


def _left(fund: Fund):
    return Inflow.objects.filter(fund=fund, left_minor__gt=0).order_by("received_on", "id")


def _draft(key: UUID, fund: Fund, taking: Fund, left: list[Inflow], *, on: date, sent: object, why: str) -> Draft:
    legs = between(
        from_fund_id=fund.id,
        to_fund_id=taking.id,
        amount_minor=sum(inflow.left_minor for inflow in left),
        traced=tuple((inflow, inflow.left_minor) for inflow in left),
    )
    return Draft(key=key, kind=Entry.Kind.LEFTOVER, on=on, sent=sent, legs=legs, note=why.strip())
