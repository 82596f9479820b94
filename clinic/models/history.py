"""The history of care facts: who changed what, from what, when."""

from django.db import models


class Change(models.Model):
    """One change of one care fact, written in the same transaction as the change itself."""

    animal = models.ForeignKey("clinic.Animal", on_delete=models.PROTECT, related_name="changes")
    what = models.CharField(max_length=40)  # "care item", "stay", "order" …
    what_id = models.BigIntegerField()
    before = models.JSONField(default=dict, blank=True)
    after = models.JSONField(default=dict, blank=True)
    why = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["animal", "at"], name="change_by_animal")]

    def __str__(self) -> str:
        return f"change {self.pk} of {self.what} {self.what_id}"
