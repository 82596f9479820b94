"""Gifts that wait: rows of a gift file that could not be recorded when the others were."""

from django.db import models
from django.db.models import Q


class WaitingGift(models.Model):
    """Where a row stands that waits; whose it is stands in its file alone.

    It waits until the books have an entry of its key, or somebody leaves it out by name and with a reason.
    """

    key = models.UUIDField(unique=True)
    file = models.ForeignKey("ledger.GiftFile", on_delete=models.PROTECT, related_name="waiting")
    line = models.PositiveIntegerField()
    since_on = models.DateField()
    kept_by = models.BigIntegerField()
    left_out_on = models.DateField(null=True, blank=True)
    left_out_by = models.BigIntegerField(null=True, blank=True)
    left_out_why = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["file", "line"], name="waiting_gift_once"),
            models.CheckConstraint(
                condition=Q(left_out_on=None, left_out_by=None, left_out_why="")
                | Q(left_out_on__isnull=False, left_out_by__isnull=False) & ~Q(left_out_why=""),
                name="waiting_gift_left_out_by_name_and_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"line {self.line} of gift file {self.file_id}"
