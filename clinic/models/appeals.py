"""Appeals: what one animal is said to need, and which fund takes the gifts for it."""

from django.db import models
from django.db.models import Q


class Appeal(models.Model):
    """What was asked for stays as it was asked. Guarantees: it is written once; a need is above zero."""

    key = models.UUIDField(unique=True)
    animal = models.ForeignKey("clinic.Animal", on_delete=models.PROTECT, related_name="appeals")
    fund_id = models.BigIntegerField()  # the ledger's fund that names the animal
    words = models.CharField(max_length=300)
    need_minor = models.BigIntegerField()
    reserve_minor = models.BigIntegerField()
    opened_on = models.DateField()
    opened_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    opened_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(need_minor__gt=0, reserve_minor__gte=0), name="appeal_need_above_zero"),
        ]

    def __str__(self) -> str:
        return f"appeal {self.pk} for animal {self.animal_id}"


class AppealEnd(models.Model):
    """From which day on nothing more is asked, why, and who said so. Guarantee: it is written once."""

    appeal = models.OneToOneField(Appeal, on_delete=models.PROTECT, related_name="end")
    on = models.DateField()
    why = models.CharField(max_length=200)
    by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(why=""), name="appeal_end_says_why")]

    def __str__(self) -> str:
        return f"end of appeal {self.appeal_id}"
