"""Conditional gifts: money in the bank that is owed back until its condition is met (E6)."""

from django.db import models
from django.db.models import Q


class Advance(models.Model):
    """Guarantees: never changed, never deleted; it is met or sent back once. The condition stands in its entry's words.

    Met, it is a gift that names it; sent back, its posting has a give-back. Until then it is a liability of its fund.
    """

    entry = models.OneToOneField("ledger.Entry", on_delete=models.PROTECT, related_name="advance")
    donor = models.ForeignKey("ledger.Donor", on_delete=models.PROTECT, null=True, blank=True, related_name="advances")
    fund = models.ForeignKey("ledger.Fund", on_delete=models.PROTECT, related_name="advances")
    received_on = models.DateField()
    until_on = models.DateField(null=True, blank=True)
    amount_minor = models.BigIntegerField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(amount_minor__gt=0), name="advance_amount_positive"),
            models.CheckConstraint(
                condition=Q(until_on=None) | Q(until_on__gte=models.F("received_on")),
                name="advance_ends_after_it_was_received",
            ),
        ]

    def __str__(self) -> str:
        return f"advance {self.id}"
