"""Periods: up to which day the books are closed, as rows of the chain."""

from django.db import models
from django.db.models import Q


class Closing(models.Model):
    """One change of the last closed day. Guarantees: never changed; only what was closed last is reopened.

    A closing moves the day on. A reopening names the closing that it `reopens` and gives back the day that stood
    before it, nothing where there was none. So the last row alone says up to which day the books are closed.
    """

    entry = models.OneToOneField("ledger.Entry", on_delete=models.PROTECT, related_name="closing")
    through_on = models.DateField(null=True, blank=True)
    reopens = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="reopened_by")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(through_on__isnull=False) | Q(reopens__isnull=False), name="closing_names_its_last_day"
            ),
        ]

    def __str__(self) -> str:
        return f"closed through {self.through_on}" if self.through_on else "nothing closed"
