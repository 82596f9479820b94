"""Treatment paths: the operations of a staged path in order, the single procedure beside it, and the decisions."""

from django.db import models
from django.db.models import F
from djmoney.models.fields import MoneyField

from clinic.models.keys import new_key


class TreatmentPath(models.Model):
    """A plan for one animal: what is staged, and the single procedure that stands beside it.

    Guarantees (the database refuses anything else): an animal has at most one open path; a path does not end
    before the ways part. A changed plan is a new path that names the one it replaces.
    """

    class Ending(models.TextChoices):
        HEALED = "healed", "healed"
        PARTLY = "partly", "partly healed"
        CONVERTED = "converted", "converted to the single procedure"
        DIED = "died", "died"
        EUTHANIZED = "euthanized", "euthanized"
        WITHDRAWN = "withdrawn", "withdrawn by the owner"
        MOVED = "moved", "moved"
        LOST = "lost", "lost to follow-up"
        REPLACED = "replaced", "replaced by another plan"

    key = models.CharField(max_length=32, unique=True, default=new_key, editable=False)
    animal = models.ForeignKey("clinic.Animal", on_delete=models.PROTECT, related_name="paths")
    name = models.CharField(max_length=80)  # "the left hock, in stages"
    keeps = models.CharField(max_length=40)  # what the staged path may keep: "the leg"
    replaces = models.OneToOneField("self", null=True, blank=True, on_delete=models.PROTECT, related_name="replaced_by")
    planned_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    planned_on = models.DateField()
    planned_at = models.DateTimeField()
    parted_on = models.DateField(null=True, blank=True)  # from here on the staged path's care counts as its own
    ended_on = models.DateField(null=True, blank=True)
    ending = models.CharField(max_length=12, choices=Ending.choices, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["animal"], condition=models.Q(ended_on__isnull=True), name="path_open_once_per_animal"
            ),
            models.CheckConstraint(
                condition=models.Q(ended_on__isnull=True)
                | models.Q(parted_on__isnull=True)
                | models.Q(ended_on__gte=models.F("parted_on")),
                name="path_ends_not_before_the_ways_part",
            ),
            models.CheckConstraint(
                condition=models.Q(ended_on__isnull=True, ending="")
                | (models.Q(ended_on__isnull=False) & ~models.Q(ending="")),
                name="path_end_says_how",
            ),
        ]

    def __str__(self) -> str:
        return f"path {self.pk} of animal {self.animal_id}"


class PathStep(models.Model):
    """One thing on a path: an operation, what follows success, the fallback, or the single procedure.

    Guarantees: a chance lies between 0 and 1, and an operation names where its chance comes from; one without a
    chance has its result already (it is from before the opening).
    """

    class Part(models.TextChoices):
        OPERATION = "operation", "operation"
        AFTER_SUCCESS = "after_success", "after it has healed"
        FALLBACK = "fallback", "single procedure after the last operation"
        SINGLE = "single", "single procedure"

    class Source(models.TextChoices):
        VET = "vet", "the vet's figure"
        OWN = "own", "our own finished cases"
        SERIES = "series", "a published series"

    class Result(models.TextChoices):
        HEALED = "healed", "healed"
        NOT_HEALED = "not_healed", "did not heal"

    path = models.ForeignKey(TreatmentPath, on_delete=models.PROTECT, related_name="steps")
    part = models.CharField(max_length=16, choices=Part.choices)
    position = models.PositiveSmallIntegerField(default=1)
    service = models.ForeignKey("clinic.Service", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    typed_cost = MoneyField(max_digits=14, decimal_places=6, default_currency="XXX", null=True, blank=True)
    days = models.PositiveSmallIntegerField(default=0)
    level = models.ForeignKey("clinic.BoardingLevel", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    daily_service = models.ForeignKey(
        "clinic.Service", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    chance = models.DecimalField(max_digits=10, decimal_places=9, null=True, blank=True)
    chance_source = models.CharField(max_length=8, choices=Source.choices, blank=True)
    chance_words = models.CharField(max_length=120, blank=True)
    chance_n = models.PositiveIntegerField(null=True, blank=True)
    chance_low = models.DecimalField(max_digits=10, decimal_places=9, null=True, blank=True)
    chance_high = models.DecimalField(max_digits=10, decimal_places=9, null=True, blank=True)
    days_low = models.PositiveSmallIntegerField(null=True, blank=True)
    days_high = models.PositiveSmallIntegerField(null=True, blank=True)
    complication_chance = models.DecimalField(max_digits=10, decimal_places=9, default=0)
    complication_cost = MoneyField(max_digits=14, decimal_places=6, default_currency="XXX", default=0)
    done_on = models.DateField(null=True, blank=True)
    result = models.CharField(max_length=12, choices=Result.choices, blank=True)
    complication = models.CharField(max_length=200, blank=True)  # what went wrong besides, healed or not
    recorded_by = models.ForeignKey("clinic.User", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["path", "part", "position"], name="path_step_once"),
            models.CheckConstraint(
                condition=models.Q(part="operation") | models.Q(position=1), name="path_step_other_parts_come_once"
            ),
            models.CheckConstraint(
                condition=(models.Q(part="operation", chance__range=(0, 1)) & ~models.Q(chance_source=""))
                # From before the opening: a result, and nobody knows what was expected.
                | (models.Q(part="operation", chance__isnull=True, chance_source="") & ~models.Q(result=""))
                | (~models.Q(part="operation") & models.Q(chance__isnull=True, result="", complication="")),
                name="path_step_operation_has_its_chance",
            ),
            models.CheckConstraint(
                condition=models.Q(complication_chance__range=(0, 1), complication_cost__gte=0),
                name="path_step_complication_in_reason",
            ),
            models.CheckConstraint(
                condition=models.Q(chance_low=None, chance_high=None)
                | models.Q(chance_low__gte=0, chance_low__lte=F("chance"), chance__lte=F("chance_high"))
                & models.Q(chance_high__lte=1, chance_low__isnull=False, chance_high__isnull=False),
                name="path_step_chance_lies_in_its_range",
            ),
            models.CheckConstraint(
                condition=models.Q(days_low=None, days_high=None)
                | models.Q(days_low__lte=F("days"), days__lte=F("days_high"))
                & models.Q(days_low__isnull=False, days_high__isnull=False),
                name="path_step_days_lie_in_their_range",
            ),
            models.CheckConstraint(
                condition=models.Q(typed_cost__isnull=True) | models.Q(typed_cost__gte=0),
                name="path_step_typed_cost_not_negative",
            ),
            models.CheckConstraint(
                condition=models.Q(result="") | models.Q(done_on__isnull=False), name="path_step_result_has_its_day"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.part} {self.position} of path {self.path_id}"


class PathDecision(models.Model):
    """What was decided on a path, by whom and why, with the figures as they stood. It never changes."""

    class Choice(models.TextChoices):
        STAGED = "staged", "the staged path"
        CONTINUE = "continue", "go on"
        CONVERT = "convert", "convert to the single procedure"
        END = "end", "end treatment"

    key = models.UUIDField(unique=True)
    path = models.ForeignKey(TreatmentPath, on_delete=models.PROTECT, related_name="decisions")
    choice = models.CharField(max_length=8, choices=Choice.choices)
    why = models.TextField()
    decided_on = models.DateField()
    vet = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    manager = models.ForeignKey("clinic.User", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    figures = models.JSONField()  # amounts in minor units; see clinic.formulas.frozen_path

    class Meta:
        indexes = [models.Index(fields=["path", "decided_on", "id"], name="path_decision_by_day")]

    def __str__(self) -> str:
        return f"decision {self.pk} on path {self.path_id}"
