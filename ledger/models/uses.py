"""Uses: which inflow paid which posting."""

from django.db import models
from django.db.models import Q


class Use(models.Model):
    """Guarantees: never changed, never deleted; a use within its inflow and its fund only.

    A positive amount takes from the inflow, a negative one gives back to it. With a shortfall, the inflow covers
    what was spent before it came; a negative amount with a shortfall alone gives back what nothing had covered.
    """

    entry = models.ForeignKey("ledger.Entry", on_delete=models.PROTECT, related_name="uses")
    posting = models.ForeignKey("ledger.Posting", on_delete=models.PROTECT, related_name="uses")
    inflow = models.ForeignKey("ledger.Inflow", on_delete=models.PROTECT, null=True, blank=True, related_name="uses")
    shortfall = models.ForeignKey(
        "ledger.Shortfall", on_delete=models.PROTECT, null=True, blank=True, related_name="uses", db_index=False
    )
    amount_minor = models.BigIntegerField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(amount_minor=0), name="use_amount_not_zero"),
            models.CheckConstraint(
                condition=Q(inflow__isnull=False) | Q(shortfall__isnull=False, amount_minor__lt=0),
                name="use_has_an_inflow_or_gives_a_shortfall_back",
            ),
            models.CheckConstraint(
                condition=Q(inflow__isnull=True) | Q(shortfall__isnull=True) | Q(amount_minor__gt=0),
                name="use_that_covers_a_shortfall_is_positive",
            ),
        ]

    def __str__(self) -> str:
        return f"use {self.id}"
