"""Shortfalls: what an unrestricted fund spent before the money was there."""

from django.db import models
from django.db.models import F, Q


class Shortfall(models.Model):
    """Guarantees: covered by the next inflow first; only `left_minor` ever changes, and never by hand."""

    entry = models.ForeignKey("ledger.Entry", on_delete=models.PROTECT, related_name="shortfalls")
    posting = models.ForeignKey("ledger.Posting", on_delete=models.PROTECT, related_name="shortfalls")
    fund = models.ForeignKey("ledger.Fund", on_delete=models.PROTECT, related_name="shortfalls", db_index=False)
    amount_minor = models.BigIntegerField()
    left_minor = models.BigIntegerField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(amount_minor__gt=0), name="shortfall_amount_positive"),
            models.CheckConstraint(
                condition=Q(left_minor__gte=0, left_minor__lte=F("amount_minor")), name="shortfall_left_within_amount"
            ),
        ]
        indexes = [models.Index(fields=["fund", "id"], condition=Q(left_minor__gt=0), name="shortfall_open")]

    def __str__(self) -> str:
        return f"shortfall {self.id}"
