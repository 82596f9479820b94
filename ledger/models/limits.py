"""Limits: how much a fund or an agreement pays at most, and what is used of it by month of care (D2, D3, F1)."""

from django.db import models
from django.db.models import F, Q


class Limit(models.Model):
    """A limit of one fund, an agreement's own fund among them. Guarantees: its terms never change, except its end."""

    class Per(models.TextChoices):
        ANIMAL = "animal", "per animal"
        MONTH = "month", "per month"
        ANIMAL_MONTH = "animal_month", "per animal and month"

    key = models.UUIDField(unique=True)
    fund = models.ForeignKey("ledger.Fund", on_delete=models.PROTECT, related_name="limits")
    per = models.CharField(max_length=12, choices=Per.choices)
    most_minor = models.BigIntegerField()
    from_on = models.DateField()
    until_on = models.DateField(null=True, blank=True)
    made_by = models.BigIntegerField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(most_minor__gte=0), name="limit_zero_or_more"),
            models.CheckConstraint(condition=Q(per__in=("animal", "month", "animal_month")), name="limit_per_is_known"),
            models.CheckConstraint(
                condition=Q(until_on=None) | Q(until_on__gte=F("from_on")), name="limit_ends_after_it_begins"
            ),
        ]

    def __str__(self) -> str:
        return f"limit {self.id}"


class LimitUse(models.Model):
    """What is used of one limit for one animal, month or path. Guarantees: 0 <= used <= most.

    `key` is put together from the columns beside it. A limit that is lowered below what is used stands at what
    is used. Only shares that followed from the order of payers count, not what somebody took over by name.
    """

    key = models.CharField(max_length=120, unique=True)
    fund = models.ForeignKey("ledger.Fund", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    subject_key = models.CharField(max_length=40, blank=True)
    month = models.DateField(null=True, blank=True)
    plan_key = models.CharField(max_length=40, blank=True)
    used_minor = models.BigIntegerField()
    most_minor = models.BigIntegerField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(used_minor__gte=0, used_minor__lte=F("most_minor")), name="limit_use_within_limit"
            ),
            models.CheckConstraint(
                condition=Q(fund__isnull=False, plan_key="") | Q(fund=None) & ~Q(plan_key=""),
                name="limit_use_of_a_fund_or_of_a_path",
            ),
        ]

    def __str__(self) -> str:
        return self.key


class Ceiling(models.Model):
    """What general money pays at most for one path: the single procedure as frozen at its first decision (D3).

    Guarantees: its amount never changes; it is lifted once, by name and with a reason.
    """

    plan_key = models.CharField(max_length=40, unique=True)
    subject_key = models.CharField(max_length=40)
    most_minor = models.BigIntegerField()
    set_on = models.DateField()
    set_by = models.BigIntegerField()
    lifted_on = models.DateField(null=True, blank=True)
    lifted_by = models.BigIntegerField(null=True, blank=True)
    lifted_why = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(most_minor__gte=0), name="ceiling_zero_or_more"),
            models.CheckConstraint(
                condition=Q(lifted_on=None, lifted_by=None, lifted_why="")
                | Q(lifted_on__isnull=False, lifted_by__isnull=False) & ~Q(lifted_why=""),
                name="ceiling_lifted_by_name_and_with_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"ceiling of {self.plan_key}"
