"""Budget lines: what a fund's money is meant for, in words, kinds of care and an amount."""

from django.db import models
from django.db.models import F, Q


class BudgetLine(models.Model):
    """A plan beside the books: it is compared with what was spent and never holds a payment back."""

    key = models.UUIDField(unique=True)
    fund = models.ForeignKey("ledger.Fund", on_delete=models.PROTECT, related_name="budget_lines")
    words = models.CharField(max_length=80)
    matches = models.CharField(max_length=400)  # kinds of care and traits; care with any of them counts here
    amount_minor = models.BigIntegerField()
    from_on = models.DateField()
    until_on = models.DateField()
    made_on = models.DateField()
    made_by = models.BigIntegerField()
    ended_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(amount_minor__gt=0), name="budget_amount_positive"),
            models.CheckConstraint(condition=Q(until_on__gte=F("from_on")), name="budget_ends_after_it_begins"),
            models.CheckConstraint(condition=~Q(matches=""), name="budget_says_which_care_counts"),
        ]

    def __str__(self) -> str:
        return self.words
