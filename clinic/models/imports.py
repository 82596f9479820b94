"""Files that were read into the clinic: what they were, and where their copies lie."""

from django.db import models


class ImportedFile(models.Model):
    """One import that added something. Its copy lies in the media folder under its own SHA-256."""

    class Kind(models.TextChoices):
        STAYS = "stays", "stays"

    kind = models.CharField(max_length=12, choices=Kind.choices)
    sha256 = models.CharField(max_length=64)
    name = models.CharField(max_length=200)
    size = models.PositiveBigIntegerField()
    copy = models.CharField(max_length=200)
    rows = models.PositiveIntegerField()
    added = models.PositiveIntegerField()
    refused = models.PositiveIntegerField()
    at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["kind", "sha256"], name="imported_file_by_content")]
        constraints = [models.CheckConstraint(condition=models.Q(added__gt=0), name="imported_file_added_something")]

    def __str__(self) -> str:
        return f"{self.name} ({self.sha256[:12]})"
