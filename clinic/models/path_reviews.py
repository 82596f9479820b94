"""When a path must be decided anew, and what went wrong on it besides."""

from django.db import models


class ReviewPoint(models.Model):
    """A day, a number of operations, a spending limit or a finding at which somebody must decide. It blocks nothing.

    Guarantees: each kind has its own figure and no other; pain has its scale.
    """

    class Kind(models.TextChoices):
        DAY = "day", "a day"
        OPERATIONS = "operations", "a number of operations"
        SPENDING = "spending", "a spending limit"
        FINDING = "finding", "a finding"

    class Finding(models.TextChoices):
        PAIN = "pain", "pain above a line"
        EATING = "eating", "not eating"
        WOUND = "wound", "wound larger twice"
        INJURY = "injury", "new bandage injury"

    key = models.UUIDField(unique=True)
    path = models.ForeignKey("clinic.TreatmentPath", on_delete=models.PROTECT, related_name="review_points")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    on = models.DateField(null=True, blank=True)
    operations = models.PositiveSmallIntegerField(null=True, blank=True)
    limit_minor = models.BigIntegerField(null=True, blank=True)
    finding = models.CharField(max_length=8, choices=Finding.choices, blank=True)
    pain_over = models.DecimalField(max_digits=5, decimal_places=1, null=True, blank=True)
    pain_of = models.DecimalField(max_digits=5, decimal_places=1, null=True, blank=True)
    set_on = models.DateField()
    set_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    set_at = models.DateTimeField()
    dropped_at = models.DateTimeField(null=True, blank=True)
    dropped_by = models.ForeignKey("clinic.User", null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kind="day", on__isnull=False, operations=None, limit_minor=None, finding="")
                | models.Q(kind="operations", operations__isnull=False, on=None, limit_minor=None, finding="")
                | models.Q(kind="spending", limit_minor__isnull=False, on=None, operations=None, finding="")
                | (models.Q(kind="finding", on=None, operations=None, limit_minor=None) & ~models.Q(finding="")),
                name="review_point_has_the_figure_of_its_kind",
            ),
            models.CheckConstraint(
                condition=models.Q(pain_over=None, pain_of=None) & ~models.Q(finding="pain")
                | models.Q(finding="pain", pain_over__gte=0, pain_of__gt=0, pain_over__lt=models.F("pain_of")),
                name="review_point_pain_has_its_scale",
            ),
        ]

    def __str__(self) -> str:
        return f"review point {self.pk} of path {self.path_id}"


class PathEvent(models.Model):
    """A bandage injury or another complication: a fact of its own, beside what the operations came to."""

    class Kind(models.TextChoices):
        INJURY = "injury", "bandage injury"
        COMPLICATION = "complication", "complication"

    key = models.UUIDField(unique=True)
    path = models.ForeignKey("clinic.TreatmentPath", on_delete=models.PROTECT, related_name="events")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    on = models.DateField()
    words = models.CharField(max_length=200)
    care_item = models.OneToOneField(
        "clinic.CareItem", null=True, blank=True, on_delete=models.PROTECT, related_name="path_event"
    )  # what its care took; charged to this path, whenever it is given
    recorded_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.kind} {self.pk} on path {self.path_id}"
