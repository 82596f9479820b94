"""Policies: what the house has decided for everybody, from which day on, by whom and why."""

from django.db import models
from django.db.models import F, Q


class Policy(models.Model):
    """Guarantees: never changed, never deleted; none begins before the day on which it was set.

    On a day that policy is in force which began last; of two that begin on one day, the one set later.
    """

    key = models.UUIDField(unique=True)
    code = models.CharField(max_length=40)
    value = models.CharField(max_length=40)
    from_on = models.DateField()
    set_on = models.DateField()  # by the clinic's calendar; `at` is the moment
    by = models.BigIntegerField()
    at = models.DateTimeField()
    why = models.CharField(max_length=300)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(from_on__gte=F("set_on")), name="policy_begins_when_set_or_later"),
            models.CheckConstraint(condition=~Q(why=""), name="policy_says_why"),
        ]
        indexes = [models.Index(fields=["code", "from_on", "id"], name="policy_by_code_and_date")]
        verbose_name_plural = "policies"

    def __str__(self) -> str:
        return f"{self.code} from {self.from_on}"
