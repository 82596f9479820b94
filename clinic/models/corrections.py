"""What an animal was called, or taken for, before."""

from django.db import models


class AnimalCorrection(models.Model):
    """One thing said of an animal that was corrected or changed. Guarantee: written once."""

    class What(models.TextChoices):
        NAME = "name", "name"
        SEX = "sex", "sex"
        SPECIES = "species", "species"
        CHIP = "chip", "microchip"
        PARTNER_NUMBER = "partner_number", "partner’s number"
        BORN_ON = "born_on", "birth"

    animal = models.ForeignKey("clinic.Animal", on_delete=models.PROTECT, related_name="corrections")
    what = models.CharField(max_length=14, choices=What.choices)
    before = models.CharField(max_length=80, blank=True)
    after = models.CharField(max_length=80, blank=True)
    on = models.DateField()
    why = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        indexes = [
            models.Index(fields=["what", "before"], name="correction_by_earlier_words"),
            models.Index(fields=["animal", "on"], name="correction_by_animal"),
        ]

    def __str__(self) -> str:
        return f"{self.what} of animal {self.animal_id}, {self.on}"
