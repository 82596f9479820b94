"""Gifts that went back: refunded, taken back by the bank, or typed wrong (E3)."""

from django.db import models
from django.db.models import Q


class GiftReturn(models.Model):
    """Guarantees: never changed, never deleted; all returns of a gift together are at most the gift."""

    class How(models.TextChoices):
        REFUND = "refund", "refunded"
        CHARGEBACK = "chargeback", "charged back"
        MISTYPED = "mistyped", "typed wrong"

    entry = models.OneToOneField("ledger.Entry", on_delete=models.PROTECT, related_name="gift_return")
    gift = models.ForeignKey("ledger.Gift", on_delete=models.PROTECT, related_name="returns")
    how = models.CharField(max_length=10, choices=How.choices)
    amount_minor = models.BigIntegerField()

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(amount_minor__gt=0), name="return_amount_positive")]

    def __str__(self) -> str:
        return f"return of gift {self.gift_id}"
