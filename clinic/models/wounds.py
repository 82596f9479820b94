"""Wound readings: what was measured of a wound on a day, by one method throughout."""

from django.db import models


class WoundReading(models.Model):
    """The figures of one wound reading, in millimeters; its day and its writer stand in the observation.

    Guarantees: length by width has both, and the length is the longer; a traced wound has its area.
    """

    class Method(models.TextChoices):
        AXES = "axes", "length by width"
        TRACED = "traced", "traced"

    observation = models.OneToOneField("clinic.Observation", on_delete=models.PROTECT, related_name="wound_reading")
    wound = models.CharField(max_length=60)  # "left hock": its readings are one series
    method = models.CharField(max_length=6, choices=Method.choices)
    length_mm = models.DecimalField(max_digits=6, decimal_places=1, null=True, blank=True)
    width_mm = models.DecimalField(max_digits=6, decimal_places=1, null=True, blank=True)
    area_mm2 = models.DecimalField(max_digits=9, decimal_places=1, null=True, blank=True)
    perimeter_mm = models.DecimalField(max_digits=7, decimal_places=1, null=True, blank=True)
    taken_back_at = models.DateTimeField(null=True, blank=True)
    taken_back_by = models.ForeignKey("clinic.User", null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(
                    method="axes",
                    length_mm__isnull=False,
                    width_mm__isnull=False,
                    length_mm__gt=0,
                    width_mm__gt=0,
                    width_mm__lte=models.F("length_mm"),
                    area_mm2__isnull=True,
                    perimeter_mm__isnull=True,
                )
                | (
                    models.Q(
                        method="traced",
                        area_mm2__isnull=False,
                        area_mm2__gt=0,
                        length_mm__isnull=True,
                        width_mm__isnull=True,
                    )
                    & (models.Q(perimeter_mm__isnull=True) | models.Q(perimeter_mm__gt=0))
                ),
                name="wound_reading_has_the_figures_of_its_method",
            ),
        ]

    def __str__(self) -> str:
        return f"wound reading {self.pk}"
