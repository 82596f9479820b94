"""Payments of bills: which charge an entry paid of what outsiders asked (B8)."""

from django.db import models
from django.db.models import Q


class BillPayment(models.Model):
    """Guarantees: never changed, never deleted; all payments of a bill together are at most what it asks."""

    entry = models.OneToOneField("ledger.Entry", on_delete=models.PROTECT, related_name="bill_payment")
    charge = models.ForeignKey("ledger.Charge", on_delete=models.PROTECT, related_name="bill_payments")
    amount_minor = models.BigIntegerField()

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(amount_minor__gt=0), name="bill_payment_amount_positive")]

    def __str__(self) -> str:
        return f"payment of the bill of charge {self.charge_id}"
