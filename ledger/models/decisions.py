"""Decisions on care that nobody has paid: those that stand for an animal, and what was carried over a month (D5)."""

from django.db import models
from django.db.models import F, Q


class StandingDecision(models.Model):
    """From a day of care on, what nobody pays of an animal's care is given by the clinic, or asked of the partner.

    Guarantees: only its end and what is used of it ever change; used stays within the most.
    """

    class Take(models.TextChoices):
        GIVEN = "given", "the clinic gives it"
        AGREEMENT = "agreement", "the partner is asked"

    key = models.UUIDField(unique=True)
    subject_key = models.CharField(max_length=40)
    take = models.CharField(max_length=9, choices=Take.choices)
    most_minor = models.BigIntegerField(null=True, blank=True)
    used_minor = models.BigIntegerField(default=0)
    from_on = models.DateField()
    until_on = models.DateField(null=True, blank=True)
    made_by = models.BigIntegerField()
    made_at = models.DateTimeField()
    why = models.CharField(max_length=300)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(used_minor__gte=0) & (Q(most_minor=None) | Q(used_minor__lte=F("most_minor"))),
                name="standing_decision_within_its_most",
            ),
            models.CheckConstraint(
                condition=Q(until_on=None) | Q(until_on__gte=F("from_on")),
                name="standing_decision_ends_after_it_begins",
            ),
        ]
        indexes = [models.Index(fields=["subject_key", "from_on"], name="standing_decision_by_subject")]

    def __str__(self) -> str:
        return f"standing decision {self.id}"


class BilledMonth(models.Model):
    """A partner's month whose statement was issued: sharing again never bills the partner for it (E3)."""

    party_key = models.CharField(max_length=40)
    month = models.DateField()
    billed_on = models.DateField()
    by = models.BigIntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["party_key", "month"], name="billed_month_once")]

    def __str__(self) -> str:
        return f"{self.party_key} {self.month:%Y-%m}"
