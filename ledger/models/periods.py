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


class ClosingBalance(models.Model):
    """What stood on an account of a fund on the last closed day: debits less credits, nothing where it is zero.

    Part of its closing's entry, so that reports begin here and read only what came after.
    """

    entry = models.ForeignKey("ledger.Entry", on_delete=models.PROTECT, related_name="closing_balances", db_index=False)
    fund = models.ForeignKey("ledger.Fund", on_delete=models.PROTECT, related_name="+", db_index=False)
    account = models.ForeignKey("ledger.Account", on_delete=models.PROTECT, related_name="+", db_index=False)
    balance_minor = models.BigIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["entry", "fund", "account"], name="closing_balance_once"),
            models.CheckConstraint(condition=~Q(balance_minor=0), name="closing_balance_not_zero"),
        ]
        # Whole in the index: a closing keeps a balance for every fund there ever was.
        indexes = [models.Index(fields=["entry", "account", "fund", "balance_minor"], name="closing_balance_whole")]

    def __str__(self) -> str:
        return f"{self.account_id} of fund {self.fund_id} at entry {self.entry_id}"
