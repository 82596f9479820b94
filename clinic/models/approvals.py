"""Owners, their approvals, and the lines that a partner disputes (F2, F4)."""

from django.db import models


class Owner(models.Model):
    """Who may consent for an animal from a day on. Guarantee: never changed; the latest row stands."""

    class Kind(models.TextChoices):
        PARTNER = "partner", "the rescue partner"
        PRACTICE = "practice", "the practice"
        ON_HOLD = "on_hold", "on hold until a date"

    key = models.UUIDField(unique=True)
    animal = models.ForeignKey("clinic.Animal", on_delete=models.PROTECT, related_name="owners")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    partner = models.ForeignKey("clinic.Partner", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    from_on = models.DateField()
    until_on = models.DateField(null=True, blank=True)
    words = models.CharField(max_length=200, blank=True)  # how it is known: the letter, the hold notice
    by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kind="partner", partner__isnull=False)
                | models.Q(kind__in=("practice", "on_hold"), partner=None),
                name="owner_partner_is_named",
            ),
            models.CheckConstraint(
                condition=models.Q(kind="on_hold", until_on__isnull=False) | ~models.Q(kind="on_hold"),
                name="owner_hold_has_an_end",
            ),
        ]

    def __str__(self) -> str:
        return f"owner of animal {self.animal_id} from {self.from_on}"


class Approval(models.Model):
    """The owner's yes to a plan and an amount: who, when, how. Guarantee: never changed."""

    class How(models.TextChoices):
        IN_PERSON = "in_person", "in person"
        PHONE = "phone", "by telephone"
        EMAIL = "email", "by e-mail"
        PAPER = "paper", "signed on paper"
        HERE = "here", "on these pages"

    key = models.UUIDField(unique=True)
    animal = models.ForeignKey("clinic.Animal", on_delete=models.PROTECT, related_name="approvals")
    path = models.ForeignKey(
        "clinic.TreatmentPath", null=True, blank=True, on_delete=models.PROTECT, related_name="approvals"
    )
    words = models.CharField(max_length=200)  # to what
    amount_minor = models.BigIntegerField()
    given_by = models.CharField(max_length=120)
    given_on = models.DateField()
    how = models.CharField(max_length=9, choices=How.choices)
    sha256 = models.CharField(max_length=64, blank=True, default="")  # of the paper it stands on
    content_type = models.CharField(max_length=40, blank=True, default="")
    by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(amount_minor__gte=0), name="approval_amount_zero_or_more")
        ]

    def __str__(self) -> str:
        return f"approval {self.pk} for animal {self.animal_id}"


class Dispute(models.Model):
    """A partner does not agree with a line that it was asked for. The asking pauses, the books do not (F4)."""

    key = models.UUIDField(unique=True)
    partner = models.ForeignKey("clinic.Partner", on_delete=models.PROTECT, related_name="disputes")
    animal = models.ForeignKey("clinic.Animal", on_delete=models.PROTECT, related_name="disputes")
    entry_number = models.BigIntegerField()
    words = models.CharField(max_length=300)
    by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    settled_words = models.CharField(max_length=300, blank=True)
    settled_by = models.ForeignKey("clinic.User", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    settled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["entry_number"], condition=models.Q(settled_at=None), name="dispute_open_once_per_line"
            ),
            models.CheckConstraint(
                condition=models.Q(settled_at=None, settled_by=None, settled_words="")
                | models.Q(settled_at__isnull=False, settled_by__isnull=False) & ~models.Q(settled_words=""),
                name="dispute_settled_by_name_and_in_words",
            ),
        ]

    def __str__(self) -> str:
        return f"dispute of entry {self.entry_number}"


class Withdrawal(models.Model):
    """A partner withdraws from a day on, for new animals or for all; earlier care stays owed (F3)."""

    class Covers(models.TextChoices):
        NEW = "new", "for new animals"
        ALL = "all", "for all animals"

    key = models.UUIDField(unique=True)
    partner = models.ForeignKey("clinic.Partner", on_delete=models.PROTECT, related_name="withdrawals")
    covers = models.CharField(max_length=3, choices=Covers.choices)
    from_on = models.DateField()
    words = models.CharField(max_length=300)
    by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"withdrawal of partner {self.partner_id} from {self.from_on}"
