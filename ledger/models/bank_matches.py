"""What stands in the books for a line at the bank, by what words lines are known, and up to when both agree."""

from django.db import models
from django.db.models import Q


class BankMatch(models.Model):
    """Guarantees: what its lines moved at the bank is what its entries moved in the books, and it never changes.

    Its parts are written first and the match last, which sums them. It can be undone by name; its parts stand no
    more then, and others can take them.
    """

    class Way(models.TextChoices):
        ENTRY = "entry", "an entry of the books"
        DEPOSIT = "deposit", "several gifts, brought to the bank at once"
        PAYOUT = "payout", "paid out by a giving site"
        PARTNER = "partner", "payment of a partner"
        PRACTICE = "practice", "payment to the practice"
        BILL = "bill", "bill paid"
        SPENDING = "spending", "spending that is no animal's"
        INCOME = "income", "other income"
        GIFT = "gift", "gift"
        OWN = "own", "lines that undo each other"

    id = models.PositiveBigIntegerField(primary_key=True)
    key = models.UUIDField(unique=True)
    way = models.CharField(max_length=8, choices=Way.choices)
    why = models.CharField(max_length=300, blank=True)
    made_by = models.BigIntegerField()
    made_at = models.DateTimeField()
    undone_by = models.BigIntegerField(null=True, blank=True)
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name_plural = "bank matches"
        constraints = [
            models.CheckConstraint(
                condition=Q(undone_by=None, undone_at=None) | Q(undone_by__isnull=False, undone_at__isnull=False),
                name="bank_match_undone_by_name",
            ),
        ]

    def __str__(self) -> str:
        return f"bank match {self.id}"


class BankMatchLine(models.Model):
    """A line in a match; in one that stands at most."""

    match = models.ForeignKey(BankMatch, on_delete=models.PROTECT, related_name="lines")
    line = models.ForeignKey("ledger.BankLine", on_delete=models.PROTECT, related_name="matched")
    stands = models.BooleanField(default=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["line"], condition=Q(stands=True), name="bank_line_matched_once")
        ]

    def __str__(self) -> str:
        return f"bank line {self.line_id} in match {self.match_id}"


class BankMatchEntry(models.Model):
    """An entry in a match; in one that stands at most."""

    match = models.ForeignKey(BankMatch, on_delete=models.PROTECT, related_name="entries")
    entry = models.ForeignKey("ledger.Entry", on_delete=models.PROTECT, related_name="at_bank")
    stands = models.BooleanField(default=True)

    class Meta:
        verbose_name_plural = "bank match entries"
        constraints = [
            models.UniqueConstraint(fields=["entry"], condition=Q(stands=True), name="bank_entry_matched_once")
        ]

    def __str__(self) -> str:
        return f"entry {self.entry_id} in match {self.match_id}"


class BankRule(models.Model):
    """Lines whose words contain this are known to be that; the latest rule that fits counts, until it is ended."""

    key = models.UUIDField(unique=True)
    contains = models.CharField(max_length=80)
    way = models.CharField(max_length=8)
    account = models.CharField(max_length=24, blank=True)  # of spending: management or fundraising
    fund = models.ForeignKey("ledger.Fund", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    party_key = models.CharField(max_length=40, blank=True)
    made_by = models.BigIntegerField()
    made_at = models.DateTimeField()
    ended_by = models.BigIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(way__in=("payout", "partner", "practice", "spending", "income", "gift")),
                name="bank_rule_way_is_known",
            ),
            models.CheckConstraint(condition=~Q(contains=""), name="bank_rule_has_words"),
        ]

    def __str__(self) -> str:
        return f"bank rule {self.id}"


class BankReconciliation(models.Model):
    """Guarantees: figures that never change: what the bank had and the books had on a day, and what explains it.

    `waiting_minor` is in the books and not yet at the bank, `begun_minor` what they differed by at the beginning.
    """

    key = models.UUIDField(unique=True)
    on = models.DateField()
    as_of = models.PositiveBigIntegerField()
    bank_minor = models.BigIntegerField()
    books_minor = models.BigIntegerField()
    waiting_minor = models.BigIntegerField()
    begun_minor = models.BigIntegerField()
    why = models.CharField(max_length=300, blank=True)
    signed_by = models.BigIntegerField()
    signed_at = models.DateTimeField()
    undone_by = models.BigIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["on"], condition=Q(undone_by=None), name="bank_reconciled_to_a_day_once"),
            models.CheckConstraint(
                condition=Q(books_minor=models.F("bank_minor") + models.F("waiting_minor") + models.F("begun_minor")),
                name="bank_reconciled_figures_agree",
            ),
            models.CheckConstraint(condition=Q(begun_minor=0) | ~Q(why=""), name="bank_difference_is_explained"),
        ]

    def __str__(self) -> str:
        return f"reconciled to {self.on}"
