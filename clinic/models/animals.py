"""The animals."""

from django.db import models

from clinic.models.keys import new_key


class Animal(models.Model):
    """An animal, under the clinic's number and its partner's own."""

    class Sex(models.TextChoices):
        FEMALE = "female", "female"
        FEMALE_SPAYED = "female spayed", "female, spayed"
        MALE = "male", "male"
        MALE_NEUTERED = "male neutered", "male, neutered"
        UNKNOWN = "unknown", "not known"

    key = models.CharField(max_length=32, unique=True, default=new_key, editable=False)
    number = models.CharField(max_length=24, unique=True)
    partner = models.ForeignKey(
        "clinic.Partner", null=True, blank=True, on_delete=models.PROTECT, related_name="animals"
    )
    partner_number = models.CharField(max_length=40, blank=True)
    name = models.CharField(max_length=80, blank=True)
    species = models.CharField(max_length=40)
    sex = models.CharField(max_length=16, choices=Sex.choices, default=Sex.UNKNOWN)
    born_on = models.DateField(null=True, blank=True)
    chip = models.CharField(max_length=15, blank=True)
    about = models.CharField(max_length=120, blank=True)
    warning = models.CharField(max_length=120, blank=True)  # read before the kennel is opened: "bites"
    group = models.ForeignKey("clinic.Group", null=True, blank=True, on_delete=models.PROTECT, related_name="animals")
    mother = models.ForeignKey("self", null=True, blank=True, on_delete=models.PROTECT, related_name="young")
    is_born_here = models.BooleanField(default=False)

    class Meta:
        indexes = [
            models.Index(fields=["name"], name="animal_by_name"),
            models.Index(fields=["chip"], name="animal_by_chip"),
            models.Index(fields=["partner", "partner_number"], name="animal_by_partner_number"),
        ]

    def __str__(self) -> str:
        return f"{self.name or 'no name yet'} ({self.number})"
