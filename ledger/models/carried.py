"""What was not ready at a month's end and is carried into the next, by name (D5, H3)."""

from django.db import models
from django.db.models import Q


class Carried(models.Model):
    """Guarantees: never changed, never deleted. Care is carried for one animal, everything else as a whole.

    Of lines of the bank and gifts that wait it keeps how many there were and the latest of them, so that what comes
    afterwards is open again.
    """

    class What(models.TextChoices):
        CARE = "care", "care nobody has paid"
        SITES = "sites", "money at giving sites"
        RETURNED = "returned", "gifts returned"
        RECEIPTS = "receipts", "receipts due"
        GOODS = "goods", "donated goods"
        BILLS = "bills", "bills to check"
        BANK = "bank", "lines of the bank with nothing in the books"
        WAITING = "waiting", "gifts that wait"

    key = models.UUIDField(unique=True)
    what = models.CharField(max_length=8, choices=What.choices)
    subject_key = models.CharField(max_length=40, blank=True)
    through_on = models.DateField()
    amount_minor = models.BigIntegerField()
    count = models.PositiveIntegerField(null=True, blank=True)
    latest_id = models.BigIntegerField(null=True, blank=True)
    on = models.DateField()
    by = models.BigIntegerField()
    at = models.DateTimeField()
    why = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(what__in=("care", "sites", "returned", "receipts", "goods", "bills", "bank", "waiting")),
                name="carried_is_known",
            ),
            models.CheckConstraint(
                condition=Q(what="care") & ~Q(subject_key="") | ~Q(what="care") & Q(subject_key=""),
                name="carried_care_names_its_animal_and_nothing_else_does",
            ),
            models.CheckConstraint(condition=Q(on__gt=models.F("through_on")), name="carried_when_the_month_is_over"),
        ]
        indexes = [models.Index(fields=["through_on", "id"], name="carried_by_month")]
        verbose_name_plural = "carried"

    def __str__(self) -> str:
        return f"{self.what} carried through {self.through_on}"
