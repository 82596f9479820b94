"""The clinic itself: its name on papers, its zone, and when its day turns."""

from django.db import models


class House(models.Model):
    """Guarantee: there is at most one."""

    name = models.CharField(max_length=120)
    address = models.TextField(blank=True)
    time_zone = models.CharField(max_length=64, default="UTC")
    ward_turns_at = models.PositiveSmallIntegerField(default=4)
    opening_on = models.DateField()
    paper = models.CharField(max_length=8, choices=[("letter", "US Letter"), ("a4", "A4")], default="letter")

    logo_sha256 = models.CharField(max_length=64, blank=True)
    logo_type = models.CharField(max_length=40, blank=True)

    signs_name = models.CharField(max_length=120, blank=True)  # who signs letters; empty: whoever issues one
    signs_title = models.CharField(max_length=120, blank=True)
    signature_sha256 = models.CharField(max_length=64, blank=True)
    signature_type = models.CharField(max_length=40, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(pk=1), name="house_is_one"),
            models.CheckConstraint(condition=models.Q(ward_turns_at__lte=23), name="house_ward_hour_0_to_23"),
            models.CheckConstraint(
                condition=models.Q(signature_sha256="") | ~models.Q(signs_name=""), name="house_signature_is_somebodys"
            ),
        ]

    def __str__(self) -> str:
        return self.name
