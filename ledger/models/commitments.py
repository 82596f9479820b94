"""Commitments: fund money set aside for an animal's plan and not yet spent (D4)."""

from django.db import models
from django.db.models import F, Q


class Commitment(models.Model):
    """Guarantees: 0 <= left <= amount; amount less its moves = left. Over-committing warns and is no error."""

    key = models.UUIDField(unique=True)
    fund = models.ForeignKey("ledger.Fund", on_delete=models.PROTECT, related_name="commitments", db_index=False)
    subject_key = models.CharField(max_length=40)
    plan_key = models.CharField(max_length=40, blank=True)
    words = models.CharField(max_length=120, blank=True)
    amount_minor = models.BigIntegerField()
    left_minor = models.BigIntegerField()
    made_on = models.DateField()
    made_by = models.BigIntegerField()
    ended_on = models.DateField(null=True, blank=True)
    ended_by = models.BigIntegerField(null=True, blank=True)
    ended_why = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(amount_minor__gt=0), name="commitment_amount_positive"),
            models.CheckConstraint(
                condition=Q(left_minor__gte=0, left_minor__lte=F("amount_minor")),
                name="commitment_left_within_amount",
            ),
        ]
        indexes = [
            models.Index(
                fields=["fund", "id"], condition=Q(ended_on=None, left_minor__gt=0), name="commitment_standing"
            ),
            models.Index(fields=["plan_key"], condition=~Q(plan_key=""), name="commitment_by_plan"),
        ]

    def __str__(self) -> str:
        return f"commitment {self.id}"


class CommitmentMove(models.Model):
    """Which share of a charge was paid out of a commitment; less than nothing where the share was given back.

    Guarantees: never changed, never deleted.
    """

    entry = models.ForeignKey("ledger.Entry", on_delete=models.PROTECT, related_name="commitment_moves")
    commitment = models.ForeignKey("ledger.Commitment", on_delete=models.PROTECT, related_name="moves")
    posting = models.ForeignKey("ledger.Posting", on_delete=models.PROTECT, related_name="commitment_moves")
    amount_minor = models.BigIntegerField()

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(amount_minor=0), name="commitment_move_not_zero")]

    def __str__(self) -> str:
        return f"move of commitment {self.commitment_id}"
