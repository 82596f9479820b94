"""Who outside the practice approved the prices that the funds are asked for (A4)."""

from django.db import models
from django.db.models import Q


class PriceApproval(models.Model):
    """Guarantees: never changed, never deleted; it names who approved and in which office."""

    key = models.UUIDField(unique=True)
    approved_on = models.DateField()
    from_on = models.DateField()  # for the prices in force from this day on
    name = models.CharField(max_length=120)
    office = models.CharField(max_length=120)
    note = models.CharField(max_length=300, blank=True)
    by = models.BigIntegerField()
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(name="") & ~Q(office=""), name="price_approval_names_who_and_office"),
        ]
        indexes = [models.Index(fields=["from_on", "id"], name="price_approval_by_date")]

    def __str__(self) -> str:
        return f"prices from {self.from_on}"
