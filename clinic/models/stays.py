"""Stays: from admission to discharge; they alone make nights."""

from django.db import models


class Stay(models.Model):
    """One animal's time in the ward.

    Guarantees (the database refuses anything else): a stay does not end before it begins, and two stays of
    one animal never overlap (half-open: a.in < b.out and b.in < a.out; an open stay has no end).
    """

    class LeftTo(models.TextChoices):
        FOSTER = "foster", "foster home"
        PARTNER = "partner", "back to the partner"
        ADOPTED = "adopted", "adopted"
        DIED = "died", "died"
        EUTHANIZED = "euthanized", "euthanized"
        OTHER = "other", "other"

    animal = models.ForeignKey("clinic.Animal", on_delete=models.PROTECT, related_name="stays")
    admitted_on = models.DateField()
    discharged_on = models.DateField(null=True, blank=True)
    admitted_for = models.CharField(max_length=120, blank=True)
    condition = models.CharField(max_length=60, blank=True)
    left_to = models.CharField(max_length=60, blank=True)
    left_why = models.CharField(max_length=200, blank=True)
    left_with = models.CharField(max_length=120, blank=True)  # name and telephone of who is asked how it is
    # From before the house opened: counted in census and length of stay, never priced, never on a sheet.
    is_history = models.BooleanField(default=False)
    place = models.ForeignKey("clinic.Place", null=True, blank=True, on_delete=models.PROTECT, related_name="stays")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(discharged_on__isnull=True) | models.Q(discharged_on__gte=models.F("admitted_on")),
                name="stay_ends_not_before_it_begins",
            ),
            models.UniqueConstraint(
                fields=["animal"],
                condition=models.Q(discharged_on__isnull=True),
                name="stay_open_once_per_animal",
            ),
        ]
        indexes = [
            models.Index(fields=["animal", "admitted_on"], name="stay_by_animal"),
            models.Index(fields=["discharged_on", "admitted_on"], name="stay_by_dates"),
        ]

    def __str__(self) -> str:
        return f"stay of animal {self.animal_id} from {self.admitted_on}"


class StayLevel(models.Model):
    """The boarding level of a stay from a date on."""

    stay = models.ForeignKey(Stay, on_delete=models.CASCADE, related_name="levels")
    level = models.ForeignKey("clinic.BoardingLevel", on_delete=models.PROTECT, related_name="+")
    from_on = models.DateField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["stay", "from_on"], name="stay_level_once_a_day")]

    def __str__(self) -> str:
        return f"level {self.level_id} from {self.from_on}"
