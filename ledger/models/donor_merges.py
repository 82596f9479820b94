"""Two donors who are one person, or are not, and donors whose identity was erased: who said so, when and why."""

from django.db import models
from django.db.models import F, Q


class DonorMerge(models.Model):
    """`donor` is the same person as `into`, from here on and for all that was. Nothing of either row changes, so
    that undoing it leaves both as they were.

    Guarantees: a donor is merged once at a time; who and when never change; it is undone once.
    """

    key = models.UUIDField(unique=True)
    donor = models.ForeignKey("ledger.Donor", on_delete=models.PROTECT, related_name="merges")
    into = models.ForeignKey("ledger.Donor", on_delete=models.PROTECT, related_name="taken_in")
    why = models.CharField(max_length=300)
    on = models.DateField()
    by = models.BigIntegerField()
    at = models.DateTimeField()
    undone_why = models.CharField(max_length=300, blank=True)
    undone_on = models.DateField(null=True, blank=True)
    undone_by = models.BigIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(donor=F("into")), name="donor_merge_is_of_two"),
            models.UniqueConstraint(fields=["donor"], condition=Q(undone_on=None), name="donor_merge_stands_once"),
            models.CheckConstraint(
                condition=Q(undone_on=None, undone_by=None) | Q(undone_on__isnull=False, undone_by__isnull=False),
                name="donor_merge_is_undone_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"merge {self.id}"


class DonorsApart(models.Model):
    """Two donors who look alike and are two, as somebody said; they are not proposed again."""

    one = models.ForeignKey("ledger.Donor", on_delete=models.PROTECT, related_name="+")
    other = models.ForeignKey("ledger.Donor", on_delete=models.PROTECT, related_name="+")
    on = models.DateField()
    by = models.BigIntegerField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(one__lt=F("other")), name="donors_apart_the_smaller_number_first"),
            models.UniqueConstraint(fields=["one", "other"], name="donors_apart_once"),
        ]

    def __str__(self) -> str:
        return f"donors {self.one_id} and {self.other_id}"


class DonorErasure(models.Model):
    """A donor's identity was erased: by whom, when and why. Their gifts stay under their number.

    Guarantees: written once for each donor, never changed, never deleted.
    """

    donor = models.OneToOneField("ledger.Donor", on_delete=models.PROTECT, related_name="erasure")
    why = models.CharField(max_length=300)
    on = models.DateField()
    by = models.BigIntegerField()
    at = models.DateTimeField()
    words = models.PositiveIntegerField()  # entries whose typed words were blanked with it
    rows = models.PositiveIntegerField()  # rows blanked in the kept copies of gift files

    def __str__(self) -> str:
        return f"erasure of donor {self.donor_id}"
