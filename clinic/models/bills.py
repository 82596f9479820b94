"""Bills: what an outsider asks for an animal (B8)."""

from django.db import models
from django.db.models import Q


class Bill(models.Model):
    """A paper that somebody photographed at the animal; the bookkeeper enters its amount.

    Accepted, it is a charge in the books under `slip_key`; whether it is paid is read from the books. Given by its
    sender, it is a charge that asks nothing.
    """

    class State(models.TextChoices):
        TO_CHECK = "to_check", "to check"
        ACCEPTED = "accepted", "accepted"
        GIVEN = "given", "given by its sender"

    key = models.UUIDField(unique=True)
    animal = models.ForeignKey("clinic.Animal", on_delete=models.PROTECT, related_name="bills")
    sender = models.CharField(max_length=80)
    words = models.CharField(max_length=80)
    care_on = models.DateField()
    sha256 = models.CharField(max_length=64)
    content_type = models.CharField(max_length=40)
    added_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    added_at = models.DateTimeField()
    state = models.CharField(max_length=8, choices=State.choices, default=State.TO_CHECK)
    number = models.CharField(max_length=40, blank=True)  # as its sender counts
    amount_minor = models.BigIntegerField(null=True, blank=True)
    slip_key = models.UUIDField(null=True, blank=True, unique=True)
    checked_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    checked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(state="to_check", amount_minor=None, slip_key=None, checked_by=None)
                | Q(state__in=("accepted", "given"), amount_minor__gt=0, slip_key__isnull=False)
                & Q(checked_by__isnull=False),
                name="bill_has_an_amount_once_it_is_checked",
            ),
        ]
        indexes = [
            models.Index(fields=["added_at"], condition=Q(state="to_check"), name="bill_to_check"),
            models.Index(fields=["animal", "care_on"], name="bill_by_animal"),
        ]

    def __str__(self) -> str:
        return f"bill {self.pk}"
