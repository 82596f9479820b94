"""What a partner may do: dispute a line it was asked for, and withdraw (F3, F4).

Refusal
└── PartnerRefused
    ├── NotAsked           the line asks nothing of this partner
    ├── DisputedAlready    the line is disputed and not settled yet
    ├── SettledAlready     the dispute is settled
    └── WithdrawnAlready   it has withdrawn, or the day lies before it began
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from uuid import UUID

from django.db import transaction

from clinic.actions import history
from clinic.models import Animal, Dispute, Partner, User, Withdrawal
from config.refusal import Refusal
from ledger.actions import agreements
from ledger.queries import line_money, party_balances


class PartnerRefused(Refusal):
    """Nothing was changed."""


class NotAsked(PartnerRefused):
    def __init__(self) -> None:
        super().__init__("This line asks nothing of your group, so there is nothing to dispute. Nothing was changed.")


class DisputedAlready(PartnerRefused):
    def __init__(self) -> None:
        super().__init__("This line is disputed already and waits for an answer. Nothing was changed.")


class SettledAlready(PartnerRefused):
    def __init__(self) -> None:
        super().__init__("This dispute is settled already. Nothing was changed.")


class WithdrawnAlready(PartnerRefused):
    field = "from_on"

    def __init__(self) -> None:
        super().__init__(
            "This partner has withdrawn already, or that day lies before it became a partner. Nothing was changed."
        )


@transaction.atomic
def dispute(*, key: UUID, partner: Partner, number: int, words: str, by: User, at: datetime) -> Dispute:
    """Note that a partner does not agree with a line. The books stay; the line is not asked for until it is settled.

    :raises NotAsked: when the line is not of this partner's animal, or asks nothing of it.
    :raises DisputedAlready: when it waits for an answer already.
    """
    if known := Dispute.objects.filter(key=key).first():
        return known
    money = line_money.line_money(number=number)
    asked = money and any(one.payer.payer == "agreement" and one.payer.amount_minor for one in money.payers)
    if money is None or money.line.party_key != partner.key or not asked:
        raise NotAsked
    if Dispute.objects.filter(entry_number=number, settled_at=None).exists():
        raise DisputedAlready
    animal = Animal.objects.get(key=money.line.subject_key)
    row = Dispute.objects.create(
        key=key, partner=partner, animal=animal, entry_number=number, words=words, by=by, at=at
    )
    history.note(animal=animal, what="dispute", what_id=row.pk, by=by, at=at, after={"entry": number}, why=words[:200])
    return row


@transaction.atomic
def settle(*, dispute: Dispute, words: str, by: User, at: datetime) -> Dispute:
    """Answer a dispute, in words, by name. A line that was wrong is corrected on its own page.

    :raises SettledAlready: when it was answered before.
    """
    row = Dispute.objects.select_for_update().get(pk=dispute.pk)
    if row.settled_at:
        raise SettledAlready
    row.settled_words, row.settled_by, row.settled_at = words, by, at
    row.save(update_fields=["settled_words", "settled_by", "settled_at"])
    history.note(animal=row.animal, what="dispute", what_id=row.pk, by=by, at=at, after={"settled": words[:200]})
    return row


@transaction.atomic
def withdraw(
    *, key: UUID, partner: Partner, covers: str, from_on: date, words: str, by: User, at: datetime
) -> Withdrawal:
    """Let a partner withdraw from a day on: it brings no new animals, and for all it pays no care from that day on.

    Earlier care stays owed, its deposit stays its own, and who owns each animal is then recorded one by one.

    :raises WithdrawnAlready: when it has, or the day lies before it began.
    """
    if known := Withdrawal.objects.filter(key=key).first():
        return known
    partner = Partner.objects.select_for_update().get(pk=partner.pk)
    wider = covers == Withdrawal.Covers.ALL and not partner.withdrawals.filter(covers=Withdrawal.Covers.ALL).exists()
    if from_on < partner.since_on or (partner.until_on and not wider):
        raise WithdrawnAlready
    partner.until_on = from_on
    partner.save(update_fields=["until_on"])
    if covers == Withdrawal.Covers.ALL:
        _end_agreement(partner, from_on - timedelta(days=1))
    return Withdrawal.objects.create(
        key=key, partner=partner, covers=covers, from_on=from_on, words=words, by=by, at=at
    )


def _end_agreement(partner: Partner, last_on: date) -> None:
    for terms in party_balances.party_balance(party_key=partner.key).agreements:
        if terms.until_on is None or terms.until_on > last_on:
            agreements.end(agreement_id=terms.agreement_id, until_on=max(last_on, terms.from_on))
