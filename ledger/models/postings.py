"""Postings: each moves one positive amount from one account to another inside one fund."""

from django.db import models
from django.db.models import F, Q


class Posting(models.Model):
    """Guarantees: balanced by shape, never changed, never deleted; what is given back never exceeds what it gives back.

    `on` repeats the entry's book date, so that a fund's journal and its sums for a period are read from one index.
    """

    entry = models.ForeignKey("ledger.Entry", on_delete=models.PROTECT, related_name="postings", db_index=False)
    leg = models.PositiveSmallIntegerField()
    on = models.DateField()
    debit = models.ForeignKey("ledger.Account", on_delete=models.PROTECT, related_name="+", db_index=False)
    credit = models.ForeignKey("ledger.Account", on_delete=models.PROTECT, related_name="+", db_index=False)
    fund = models.ForeignKey("ledger.Fund", on_delete=models.PROTECT, related_name="postings", db_index=False)
    amount_minor = models.BigIntegerField()
    back_of = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="given_back", db_index=False
    )
    charge = models.ForeignKey(
        "ledger.Charge", on_delete=models.PROTECT, null=True, blank=True, related_name="postings", db_index=False
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["entry", "leg"], name="posting_leg_once"),
            models.CheckConstraint(condition=Q(amount_minor__gt=0), name="posting_amount_positive"),
            models.CheckConstraint(condition=Q(leg__gte=1), name="posting_legs_begin_at_one"),
            models.CheckConstraint(condition=~Q(debit=F("credit")), name="posting_accounts_differ"),
        ]
        indexes = [
            models.Index(fields=["fund", "on", "entry", "leg"], name="posting_by_fund_and_date"),
            models.Index(fields=["back_of"], condition=Q(back_of__isnull=False), name="posting_by_back_of"),
            models.Index(fields=["charge"], condition=Q(charge__isnull=False), name="posting_by_charge"),
        ]

    def __str__(self) -> str:
        return f"leg {self.leg} of entry {self.entry_id}"
