"""Grades: what an hour of somebody's work costs from a date on, and how long a service takes whom."""

from django.db import models
from djmoney.models.fields import MoneyField


class Grade(models.Model):
    """What an hour costs; what a person may do is a role."""

    name = models.CharField(max_length=60, unique=True)

    def __str__(self) -> str:
        return self.name


class GradeCost(models.Model):
    """What one person of a grade costs in a year, and the time that remains for work, from a date on."""

    grade = models.ForeignKey(Grade, on_delete=models.PROTECT, related_name="costs")
    starts_on = models.DateField()
    people = models.DecimalField(max_digits=6, decimal_places=2)  # full posts: 2.5 are two and a half
    yearly_cost = MoneyField(max_digits=16, decimal_places=6, default_currency="XXX")
    days = models.DecimalField(max_digits=6, decimal_places=2)
    hours_a_day = models.DecimalField(max_digits=5, decimal_places=2)
    break_minutes_a_day = models.PositiveSmallIntegerField(default=0)
    set_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    set_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["grade", "starts_on"], name="grade_cost_once_per_grade_and_date"),
            models.CheckConstraint(
                condition=models.Q(yearly_cost__gte=0, people__gt=0, days__gt=0, days__lte=366),
                name="grade_cost_in_reason",
            ),
            models.CheckConstraint(
                condition=models.Q(hours_a_day__gt=0, hours_a_day__lte=24)
                & models.Q(break_minutes_a_day__lt=models.F("hours_a_day") * 60),
                name="grade_cost_leaves_time_for_work",
            ),
        ]

    def __str__(self) -> str:
        return f"cost of grade {self.grade_id} from {self.starts_on}"


class GradeMinutes(models.Model):
    """How many minutes of a grade one unit of a service takes."""

    service = models.ForeignKey("clinic.Service", on_delete=models.CASCADE, related_name="grade_minutes")
    grade = models.ForeignKey(Grade, on_delete=models.PROTECT, related_name="+")
    minutes = models.DecimalField(max_digits=6, decimal_places=2)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["service", "grade"], name="grade_minutes_once_per_service_and_grade"),
            models.CheckConstraint(condition=models.Q(minutes__gt=0), name="grade_minutes_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.minutes} minutes of grade {self.grade_id} for service {self.service_id}"


class TimeExtra(models.Model):
    """Minutes of a grade that come on top each time something holds: "per further plate", "emergency"."""

    service = models.ForeignKey("clinic.Service", on_delete=models.CASCADE, related_name="time_extras")
    grade = models.ForeignKey(Grade, on_delete=models.PROTECT, related_name="+")
    words = models.CharField(max_length=60)
    minutes = models.DecimalField(max_digits=6, decimal_places=2)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["service", "grade", "words"], name="time_extra_once_per_grade_and_words"),
            models.CheckConstraint(condition=models.Q(minutes__gt=0), name="time_extra_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.words}: {self.minutes} minutes of grade {self.grade_id} for service {self.service_id}"
