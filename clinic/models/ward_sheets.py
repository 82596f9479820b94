"""The ward sheet of a date, its rows, the evening's confirmation, and signing off."""

from django.db import models


class WardSheet(models.Model):
    """One per date."""

    on = models.DateField(unique=True)

    def __str__(self) -> str:
        return f"ward sheet of {self.on}"


class EveningSeen(models.Model):
    """Somebody has seen every animal in care that evening."""

    sheet = models.ForeignKey(WardSheet, on_delete=models.PROTECT, related_name="seen")
    animals = models.PositiveSmallIntegerField()
    by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.animals} seen, sheet {self.sheet_id}"


class Signing(models.Model):
    """One act of signing off: by whom, when, and the digest of the preview that was read."""

    key = models.UUIDField(unique=True)
    on = models.DateField()
    digest = models.CharField(max_length=64)
    by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"signing {self.pk} of {self.on}"


class SheetRow(models.Model):
    """One animal on one sheet. Guarantee: once signed it never changes."""

    sheet = models.ForeignKey(WardSheet, on_delete=models.PROTECT, related_name="rows")
    animal = models.ForeignKey("clinic.Animal", on_delete=models.PROTECT, related_name="sheet_rows")
    signing = models.ForeignKey(Signing, on_delete=models.PROTECT, related_name="rows")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["sheet", "animal"], name="sheet_row_signed_once")]

    def __str__(self) -> str:
        return f"row of animal {self.animal_id} on sheet {self.sheet_id}"


class BoardingDay(models.Model):
    """A boarding day that was signed off. Guarantees: one per animal and date; it never changes."""

    animal = models.ForeignKey("clinic.Animal", on_delete=models.PROTECT, related_name="boarding_days")
    stay = models.ForeignKey("clinic.Stay", on_delete=models.PROTECT, related_name="boarding_days")
    on = models.DateField()
    level = models.ForeignKey("clinic.BoardingLevel", on_delete=models.PROTECT, related_name="+")
    signing = models.ForeignKey(Signing, on_delete=models.PROTECT, related_name="boarding_days")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["animal", "on"], name="boarding_day_once_per_animal_and_date")]

    def __str__(self) -> str:
        return f"boarding day of animal {self.animal_id} on {self.on}"
