"""Inflows: every income that can be spent, waiting in its fund by date received."""

from django.db import models
from django.db.models import F, Q


class Inflow(models.Model):
    """Guarantees: amount = used + left, kept by trigger; only `left_minor` ever changes, and never by hand."""

    entry = models.ForeignKey("ledger.Entry", on_delete=models.PROTECT, related_name="inflows")
    posting = models.ForeignKey("ledger.Posting", on_delete=models.PROTECT, related_name="inflows")
    fund = models.ForeignKey("ledger.Fund", on_delete=models.PROTECT, related_name="inflows", db_index=False)
    gift = models.ForeignKey(
        "ledger.Gift", on_delete=models.PROTECT, null=True, blank=True, related_name="inflows", db_index=False
    )
    received_on = models.DateField()
    amount_minor = models.BigIntegerField()
    left_minor = models.BigIntegerField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(amount_minor__gt=0), name="inflow_amount_positive"),
            models.CheckConstraint(
                condition=Q(left_minor__gte=0, left_minor__lte=F("amount_minor")), name="inflow_left_within_amount"
            ),
        ]
        indexes = [
            models.Index(
                fields=["fund", "received_on", "id"], condition=Q(left_minor__gt=0), name="inflow_unspent_oldest_first"
            ),
            models.Index(fields=["gift"], condition=Q(gift__isnull=False), name="inflow_by_gift"),
        ]

    def __str__(self) -> str:
        return f"inflow {self.id}"
