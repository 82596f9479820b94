"""Donors: who gave. They never sign in."""

from django.db import models


class Donor(models.Model):
    """A giver's identity, in this one place; the books know an opaque id, so erasing a name leaves them whole."""

    class Kind(models.TextChoices):
        PERSON = "person", "person"
        ORGANIZATION = "organization", "organization"
        ESTATE = "estate", "estate"

    key = models.UUIDField(unique=True)
    kind = models.CharField(max_length=12, choices=Kind.choices, default=Kind.PERSON)
    name = models.CharField(max_length=120)
    address = models.CharField(max_length=300, blank=True)
    email = models.EmailField(blank=True)
    note = models.CharField(max_length=300, blank=True)
    added_on = models.DateField()
    added_by = models.BigIntegerField()

    class Meta:
        indexes = [models.Index(fields=["name", "id"], name="donor_by_name")]

    def __str__(self) -> str:
        return f"donor {self.id}"
