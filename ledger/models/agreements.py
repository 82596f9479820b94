"""Agreements: which part of the care a partner pays (F1)."""

from django.db import models
from django.db.models import F, Q


class Agreement(models.Model):
    """Guarantees: terms never change once made, except the day on which they end."""

    class Of(models.TextChoices):
        REST = "rest", "of what gifts naming the animal leave over"
        WHOLE = "whole", "of the whole charge"

    key = models.UUIDField(unique=True)
    party_key = models.CharField(max_length=40)
    fund = models.ForeignKey("ledger.Fund", on_delete=models.PROTECT, related_name="agreements")
    percent = models.DecimalField(max_digits=7, decimal_places=4)
    of = models.CharField(max_length=5, choices=Of.choices, default=Of.REST)
    kinds = models.CharField(max_length=400, blank=True)  # codes of care; empty: every kind
    from_on = models.DateField()
    until_on = models.DateField(null=True, blank=True)
    made_by = models.BigIntegerField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(percent__gt=0, percent__lte=100), name="agreement_percent_within_100"),
            models.CheckConstraint(
                condition=Q(until_on=None) | Q(until_on__gte=F("from_on")), name="agreement_ends_after_it_begins"
            ),
        ]
        indexes = [models.Index(fields=["party_key", "from_on"], name="agreement_by_party")]

    def __str__(self) -> str:
        return f"agreement {self.id}"
