"""Shared costs: what rooms, power, cleaning and administration cost in a year, and by what they are shared."""

from django.db import models
from djmoney.models.fields import MoneyField


class SharedYear(models.Model):
    """One yearly sharing, in force from a date on until the next; its boarding days and theater minutes carry it."""

    starts_on = models.DateField(unique=True)
    boarding_days = models.PositiveIntegerField()
    theater_minutes = models.PositiveIntegerField()
    set_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    set_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"shared costs from {self.starts_on}"


class CostCenter(models.Model):
    """A service with its cost in a year, in the order in which they are closed; or the ward, or the theater."""

    class Kind(models.TextChoices):
        SERVICE = "service", "service"
        WARD = "ward", "ward"
        THEATER = "theater", "theater"

    year = models.ForeignKey(SharedYear, on_delete=models.CASCADE, related_name="centers")
    kind = models.CharField(max_length=7, choices=Kind.choices)
    name = models.CharField(max_length=60)
    position = models.PositiveSmallIntegerField()
    yearly_cost = MoneyField(max_digits=16, decimal_places=6, default_currency="XXX")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["year", "name"], name="cost_center_once_per_year_and_name"),
            models.UniqueConstraint(fields=["year", "position"], name="cost_center_has_its_place"),
            models.CheckConstraint(condition=models.Q(yearly_cost__gte=0), name="cost_center_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.name} of year {self.year_id}"


class CostBase(models.Model):
    """How much of a service somebody uses: square feet, hours, people."""

    service = models.ForeignKey(CostCenter, on_delete=models.CASCADE, related_name="bases")
    user = models.ForeignKey(CostCenter, on_delete=models.CASCADE, related_name="+")
    base = models.DecimalField(max_digits=12, decimal_places=3)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["service", "user"], name="cost_base_once_per_service_and_user"),
            models.CheckConstraint(condition=models.Q(base__gte=0), name="cost_base_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.base} of center {self.service_id} used by center {self.user_id}"
