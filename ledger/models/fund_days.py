"""A fund's closing balance on each day on which it moved."""

from django.db import models
from django.db.models import Q


class FundDay(models.Model):
    """Kept by trigger alone. Guarantees: a restricted fund never closes a day below zero."""

    fund = models.ForeignKey("ledger.Fund", on_delete=models.PROTECT, related_name="days", db_index=False)
    on = models.DateField()
    closing_minor = models.BigIntegerField()
    is_restricted = models.BooleanField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["fund", "on"], name="fund_day_once"),
            models.CheckConstraint(
                condition=Q(is_restricted=False) | Q(closing_minor__gte=0), name="fund_day_restricted_not_below_zero"
            ),
        ]

    def __str__(self) -> str:
        return f"fund {self.fund_id} on {self.on}"
