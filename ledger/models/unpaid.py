"""What nobody has paid of a charge, kept so that the list costs what is open and not what ever was."""

from django.db import models
from django.db.models import Q


class Unpaid(models.Model):
    """Kept by trigger alone: the sum of the shares of nobody of a charge and of what took it back.

    A row for each charge that ever had such a share; the index holds those that are open.
    """

    charge = models.OneToOneField("ledger.Charge", on_delete=models.PROTECT, primary_key=True, related_name="unpaid")
    amount_minor = models.BigIntegerField()

    class Meta:
        indexes = [models.Index(fields=["charge"], condition=Q(amount_minor__gt=0), name="unpaid_open")]
        verbose_name_plural = "unpaid"

    def __str__(self) -> str:
        return f"unpaid of charge {self.charge_id}"
