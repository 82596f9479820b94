"""Scans: the paper behind an entry, kept beside it."""

from django.db import models


class Scan(models.Model):
    """Guarantees: never changed, never deleted. The file is known by its digest; its name is what the person wrote."""

    key = models.UUIDField(unique=True)
    entry = models.ForeignKey("ledger.Entry", on_delete=models.PROTECT, related_name="scans")
    name = models.CharField(max_length=120)
    sha256 = models.CharField(max_length=64)
    content_type = models.CharField(max_length=40)
    size = models.PositiveIntegerField()
    by = models.BigIntegerField()
    at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["entry", "sha256"], name="scan_once_on_an_entry")]

    def __str__(self) -> str:
        return f"scan {self.id} of entry {self.entry_id}"
