"""Entries: one event each in the books, numbered without gaps and chained."""

from django.db import models
from django.db.models import Q


class Entry(models.Model):
    """Guarantees: never changed, never deleted; numbers have no gap; `previous` is the digest before it.

    `id` is the entry's number. Its legs are written first and the entry last, which counts them: nothing can
    join it afterwards.
    """

    class Kind(models.TextChoices):
        CHARGE = "charge", "care"
        CORRECTION = "correction", "correction of care"
        TAKE_OVER = "take_over", "care taken over"
        GIFT = "gift", "gift"
        GOODS = "goods", "donated goods"
        OPENING = "opening", "opening balance"
        PAST = "past_gift", "gift from before these books"
        PAYOUT = "payout", "paid out by a giving site"
        REVERSAL = "reversal", "reversal"
        RETURN = "return", "gift returned"
        TRANSFER = "transfer", "transfer between funds"
        LEFTOVER = "leftover", "what was left, under its clause"
        INCOME = "income", "other income"
        SPENDING = "spending", "spending that is no animal's"
        PAID = "paid", "payment to the practice"
        BILL_PAID = "bill_paid", "bill paid"
        PARTNER_PAID = "partner_paid", "payment of a partner"
        DEPOSIT = "deposit", "a partner's deposit"
        CONDITION = "condition", "conditional gift"
        DEBT = "debt", "debt given up"
        CLOSING = "closing", "period closed"
        REOPENING = "reopening", "period reopened"

    id = models.PositiveBigIntegerField(primary_key=True)
    kind = models.CharField(max_length=12, choices=Kind.choices)
    on = models.DateField()
    recorded_at = models.DateTimeField()
    by = models.BigIntegerField()
    key = models.UUIDField(unique=True)
    content = models.CharField(max_length=64)
    form = models.PositiveSmallIntegerField()
    legs = models.PositiveSmallIntegerField()
    words_digest = models.CharField(max_length=64, blank=True)
    previous = models.CharField(max_length=64, blank=True)
    digest = models.CharField(max_length=64, unique=True)
    reverses = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="reversed_by")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(id__gte=1), name="entry_numbers_begin_at_one"),
            models.CheckConstraint(
                condition=Q(id=1, previous="") | Q(id__gt=1) & ~Q(previous=""),
                name="entry_has_a_previous_but_the_first",
            ),
        ]
        indexes = [
            models.Index(fields=["on", "id"], name="entry_by_date"),
            models.Index(fields=["kind", "id"], name="entry_by_kind"),
        ]

    def __str__(self) -> str:
        return f"entry {self.id}"

    @property
    def number(self) -> int:
        return self.id


class Words(models.Model):
    """What people typed about an entry. It can be erased and leave the chain whole.

    The entry keeps SHA-256 of the salt and the words; erasing blanks both, and nothing else may change.
    """

    entry = models.OneToOneField(Entry, on_delete=models.PROTECT, primary_key=True, related_name="words")
    salt = models.CharField(max_length=32, blank=True)
    subject = models.CharField(max_length=120, blank=True)
    line = models.CharField(max_length=200, blank=True)
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        verbose_name_plural = "words"

    def __str__(self) -> str:
        return f"words of entry {self.entry_id}"
