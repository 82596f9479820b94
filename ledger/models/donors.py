"""Donors: who gave. They never sign in."""

from django.db import models
from django.db.models import F, Q


class Donor(models.Model):
    """A giver's identity, in this one place; the books know an opaque id, so erasing a name leaves them whole.

    Two that are one person stay two rows: `same_as` names the one that stands for both, and follows from the merges.
    """

    class Kind(models.TextChoices):
        PERSON = "person", "person"
        ORGANIZATION = "organization", "organization"
        ESTATE = "estate", "estate"

    class Wants(models.TextChoices):
        PAPER = "paper", "paper"
        EMAIL = "email", "e-mail"
        NOTHING = "nothing", "nothing"

    key = models.UUIDField(unique=True)
    kind = models.CharField(max_length=12, choices=Kind.choices, default=Kind.PERSON)
    name = models.CharField(max_length=120)
    address = models.CharField(max_length=300, blank=True)
    email = models.EmailField(blank=True)
    note = models.CharField(max_length=300, blank=True)
    wants = models.CharField(max_length=8, choices=Wants.choices, blank=True)  # empty: has not said
    is_unnamed = models.BooleanField(default=False)  # wishes to be named to nobody
    language = models.CharField(max_length=8, blank=True)  # ISO 639-1; empty: has not said
    same_as = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="merged")
    added_on = models.DateField()
    added_by = models.BigIntegerField()
    erased_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(same_as=F("id")), name="donor_is_merged_into_another"),
            models.CheckConstraint(
                condition=Q(erased_on=None) | Q(address="", email="", note="", wants="nothing", language=""),
                name="donor_who_was_erased_has_no_identity",
            ),
        ]
        indexes = [models.Index(fields=["name", "id"], name="donor_by_name")]

    def __str__(self) -> str:
        return f"donor {self.id}"


class DonorAddress(models.Model):
    """Where a donor lived or was reached before, and until when."""

    donor = models.ForeignKey(Donor, on_delete=models.PROTECT, related_name="earlier")
    address = models.CharField(max_length=300, blank=True)
    email = models.EmailField(blank=True)
    until_on = models.DateField()
    changed_by = models.BigIntegerField()

    def __str__(self) -> str:
        return f"earlier address {self.id} of donor {self.donor_id}"


class DonorNumber(models.Model):
    """The number or name by which a giving site knows a donor."""

    donor = models.ForeignKey(Donor, on_delete=models.PROTECT, related_name="numbers")
    source = models.ForeignKey("ledger.GiftSource", on_delete=models.PROTECT, related_name="+")
    number = models.CharField(max_length=120)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["source", "number"], name="donor_number_once_at_its_source")]

    def __str__(self) -> str:
        return f"number {self.id} of donor {self.donor_id}"
