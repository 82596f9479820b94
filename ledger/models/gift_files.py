"""Where gift files come from, by what rules their gifts find a fund, and the files themselves."""

from django.db import models
from django.db.models import Q


class GiftSource(models.Model):
    """One giving site, bank or list: what its columns hold, remembered by the names of their heads."""

    AT_OPENING = "opening"  # its rows were there when the books began

    key = models.UUIDField(unique=True)
    name = models.CharField(max_length=80, unique=True)
    way = models.CharField(max_length=12)
    columns = models.JSONField(default=dict)  # meaning: head
    back_words = models.JSONField(default=dict)  # how a gift went back: the words that say so; empty: the usual ones
    decimal = models.CharField(max_length=1, blank=True)  # empty: each file says it itself
    day_first = models.BooleanField(null=True, blank=True)
    fund = models.ForeignKey("ledger.Fund", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    made_by = models.BigIntegerField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(way__in=("bank", "giving_site", "opening")), name="gift_source_way_is_known"
            ),
            models.CheckConstraint(condition=Q(decimal__in=("", ".", ",")), name="gift_source_decimal_is_known"),
        ]

    def __str__(self) -> str:
        return f"gift source {self.id}"


class GiftRule(models.Model):
    """Gifts of a source whose words contain this go to that fund; the first fitting rule counts."""

    source = models.ForeignKey(GiftSource, on_delete=models.CASCADE, related_name="rules")
    position = models.PositiveSmallIntegerField()
    contains = models.CharField(max_length=80)
    fund = models.ForeignKey("ledger.Fund", on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["source", "position"], name="gift_rule_once")]

    def __str__(self) -> str:
        return f"rule {self.position} of gift source {self.source_id}"


class GiftFile(models.Model):
    """A file as it came, kept by its digest; bringing it again finds the same row."""

    source = models.ForeignKey(GiftSource, on_delete=models.PROTECT, related_name="files")
    sha256 = models.CharField(max_length=64)
    # Once a donor was erased: the copy without their cells, and its lines of which nothing but money is left.
    copy_sha256 = models.CharField(max_length=64, blank=True)
    blanked = models.JSONField(default=list, blank=True)
    content_type = models.CharField(max_length=100)
    name = models.CharField(max_length=120)
    rows = models.PositiveIntegerField()
    brought_by = models.BigIntegerField()
    brought_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["source", "sha256"], name="gift_file_once")]

    def __str__(self) -> str:
        return f"gift file {self.id}"
