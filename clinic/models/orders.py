"""The vet's standing instructions."""

from django.db import models


class Order(models.Model):
    """What is to be given, in which rounds, every how many days."""

    class Round(models.TextChoices):
        MORNING = "morning", "morning"
        MIDDAY = "midday", "midday"
        EVENING = "evening", "evening"
        NIGHT = "night", "night"

    key = models.UUIDField(unique=True)
    animal = models.ForeignKey("clinic.Animal", on_delete=models.PROTECT, related_name="orders")
    service = models.ForeignKey("clinic.Service", on_delete=models.PROTECT, related_name="+")
    rounds = models.JSONField(default=list)
    every_days = models.PositiveSmallIntegerField(default=1)
    starts_on = models.DateField()
    until_on = models.DateField(null=True, blank=True)
    words = models.CharField(max_length=120, blank=True)
    # What the whole group gets together; the order stands at the first of its animals.
    for_group = models.ForeignKey(
        "clinic.Group", null=True, blank=True, on_delete=models.PROTECT, related_name="orders"
    )
    ordered_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    stopped_on = models.DateField(null=True, blank=True)
    stopped_by = models.ForeignKey("clinic.User", null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(every_days__gte=1), name="order_every_day_or_more"),
            models.CheckConstraint(
                condition=models.Q(until_on__isnull=True) | models.Q(until_on__gte=models.F("starts_on")),
                name="order_until_not_before_start",
            ),
        ]

    def __str__(self) -> str:
        return f"order {self.pk} for animal {self.animal_id}"

    def is_due_on(self, day) -> bool:
        """Say whether the order asks for something on `day`; the day it is stopped no longer counts."""
        begun = self.starts_on <= day and (self.until_on is None or day <= self.until_on)
        stopped = self.stopped_on is not None and day >= self.stopped_on
        return begun and not stopped and (day - self.starts_on).days % self.every_days == 0
