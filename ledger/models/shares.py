"""Shares: who pays how much of a charge, and why."""

from django.db import models
from django.db.models import Q


class Share(models.Model):
    """Guarantees: never changed, never deleted; moving a share is a pair that sums to zero.

    `nobody` is care nobody has paid: it belongs to no fund's books until somebody takes it (D5). `given` is
    asked money that the clinic took over (C3).
    """

    class Payer(models.TextChoices):
        FUND = "fund", "fund"
        AGREEMENT = "agreement", "partner's agreement"
        NOBODY = "nobody", "nobody yet"
        GIVEN = "given", "taken over by the clinic"

    entry = models.ForeignKey("ledger.Entry", on_delete=models.PROTECT, related_name="shares")
    charge = models.ForeignKey("ledger.Charge", on_delete=models.PROTECT, related_name="shares")
    payer = models.CharField(max_length=9, choices=Payer.choices)
    rank = models.PositiveSmallIntegerField()
    fund = models.ForeignKey(
        "ledger.Fund", on_delete=models.PROTECT, null=True, blank=True, related_name="shares", db_index=False
    )
    reason = models.CharField(max_length=40)
    amount_minor = models.BigIntegerField()
    posting = models.OneToOneField(
        "ledger.Posting", on_delete=models.PROTECT, null=True, blank=True, related_name="share"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(amount_minor=0), name="share_amount_not_zero"),
            models.CheckConstraint(
                condition=Q(payer="nobody", fund=None, posting=None)
                | Q(payer__in=("fund", "agreement", "given"), fund__isnull=False, posting__isnull=False),
                name="share_of_nobody_has_no_fund_and_every_other_has",
            ),
        ]
        indexes = [models.Index(fields=["charge"], condition=Q(payer="nobody"), name="share_nobody")]

    def __str__(self) -> str:
        return f"share {self.id}"
