"""Charges: each one priced line of care in the three figures."""

from django.db import models
from django.db.models import F, Q


class Charge(models.Model):
    """Guarantees: never changed, never deleted; its shares sum to what it asks.

    A correction is a charge of its own with every figure negative; it names the one that it `reverses`, and the
    line that takes its place names what it `replaces`. So a plain sum over charges is always right.
    """

    entry = models.OneToOneField("ledger.Entry", on_delete=models.PROTECT, related_name="charge")
    subject_key = models.CharField(max_length=40)
    party_key = models.CharField(max_length=40, blank=True)
    plan_key = models.CharField(max_length=40, blank=True)
    kind = models.ForeignKey("ledger.Account", on_delete=models.PROTECT, related_name="+", db_index=False)
    traits = models.CharField(max_length=400, blank=True)
    care_on = models.DateField()
    is_late = models.BooleanField(default=False)
    quantity_thousandths = models.BigIntegerField()
    unit = models.CharField(max_length=30)
    cost_minor = models.BigIntegerField()
    usual_minor = models.BigIntegerField()
    asked_minor = models.BigIntegerField()
    goods_minor = models.BigIntegerField(default=0)
    # Of what the clinic gives, what it would have asked had nobody worked free; empty for nothing.
    time_minor = models.BigIntegerField(null=True, blank=True)
    # "bill" where an outsider is owed, not the practice (B8).
    owed_to = models.CharField(max_length=8, null=True, blank=True)
    reverses = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="reversed_by")
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(owed_to=None) | Q(owed_to="bill"), name="charge_owed_to_is_known"),
            models.CheckConstraint(
                condition=Q(
                    reverses=None,
                    quantity_thousandths__gt=0,
                    cost_minor__gte=0,
                    usual_minor__gte=F("asked_minor"),
                    asked_minor__gte=0,
                    goods_minor__gte=0,
                )
                | Q(
                    reverses__isnull=False,
                    quantity_thousandths__lt=0,
                    cost_minor__lte=0,
                    usual_minor__lte=F("asked_minor"),
                    asked_minor__lte=0,
                    goods_minor__lte=0,
                ),
                name="charge_asks_at_most_the_usual_fee_and_a_reversal_mirrors_it",
            ),
        ]
        indexes = [
            models.Index(fields=["subject_key", "care_on", "id"], name="charge_by_subject"),
            models.Index(fields=["party_key", "care_on", "id"], condition=~Q(party_key=""), name="charge_by_party"),
        ]

    def __str__(self) -> str:
        return f"charge {self.id}"
