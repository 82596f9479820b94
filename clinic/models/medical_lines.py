"""The medical line that donors read of an animal on a staged path, as a vet approved it."""

from django.db import models


class MedicalLine(models.Model):
    """A vet's approval of one wording for one state of a path (I3). Guarantee: written once; the last one holds."""

    key = models.UUIDField(unique=True)
    path = models.ForeignKey("clinic.TreatmentPath", on_delete=models.PROTECT, related_name="medical_lines")
    state = models.TextField()  # what had happened on the path by then; see clinic.formulas.medical_lines
    words = models.CharField(max_length=300)
    approved_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    approved_at = models.DateTimeField()

    class Meta:
        constraints = [models.CheckConstraint(condition=~models.Q(words=""), name="medical_line_says_something")]

    def __str__(self) -> str:
        return f"medical line {self.pk} of path {self.path_id}"
