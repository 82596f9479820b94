"""Follow-ups: what is to be asked of an animal after an operation or a stay, and what came of it."""

from django.db import models
from django.db.models import Q


class FollowUpKind(models.TextChoices):
    SUTURES = "sutures", "suture removal"
    RECHECK = "recheck", "recheck"
    VISIT = "visit", "foster visit"
    QUESTION = "question", "question"


class FollowUpPlan(models.Model):
    """What is usually asked after a procedure, and how many days after it."""

    service = models.ForeignKey("clinic.Service", on_delete=models.CASCADE, related_name="follow_up_plans")
    days_after = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=8, choices=FollowUpKind.choices)
    words = models.CharField(max_length=80)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["service", "days_after", "kind", "words"], name="follow_up_plan_once_per_service"
            ),
            models.CheckConstraint(
                condition=Q(days_after__gte=1, days_after__lte=3660), name="follow_up_plan_within_ten_years"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.words}, {self.days_after} days after service {self.service_id}"


class FollowUp(models.Model):
    """One thing to ask on a day, until it has its result.

    Guarantee (the database refuses anything else): a result has its day and who wrote it down, and nothing else has.
    """

    class Result(models.TextChoices):
        WELL = "well", "as hoped"
        CARE = "care", "needs care"
        DIED = "died", "died"
        LOST = "lost", "lost to follow-up"
        DROPPED = "dropped", "no longer asked"

    key = models.UUIDField(unique=True)
    animal = models.ForeignKey("clinic.Animal", on_delete=models.PROTECT, related_name="follow_ups")
    # The operation that it follows; empty where it follows a stay, or was planned by hand.
    care_item = models.ForeignKey(
        "clinic.CareItem", null=True, blank=True, on_delete=models.PROTECT, related_name="follow_ups"
    )
    kind = models.CharField(max_length=8, choices=FollowUpKind.choices)
    words = models.CharField(max_length=80)
    due_on = models.DateField()
    planned_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    planned_at = models.DateTimeField()
    result = models.CharField(max_length=8, choices=Result.choices, blank=True)
    result_words = models.CharField(max_length=200, blank=True)
    done_on = models.DateField(null=True, blank=True)
    done_by = models.ForeignKey("clinic.User", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(result="", done_on=None, done_by=None, done_at=None)
                | ~Q(result="") & Q(done_on__isnull=False, done_by__isnull=False, done_at__isnull=False),
                name="follow_up_result_has_its_day_and_name",
            ),
            models.CheckConstraint(
                condition=Q(result__in=("", "well", "care", "died", "lost", "dropped")),
                name="follow_up_result_is_known",
            ),
        ]
        indexes = [
            models.Index(fields=["due_on"], condition=Q(result=""), name="follow_up_open"),
            models.Index(fields=["animal", "due_on"], name="follow_up_by_animal"),
            models.Index(fields=["done_on"], name="follow_up_by_result_day"),
        ]

    def __str__(self) -> str:
        return f"follow-up {self.pk} of animal {self.animal_id} on {self.due_on}"
