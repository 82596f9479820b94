"""Papers as they were issued: their numbers, what they said, and what became of them."""

from django.db import models
from django.db.models import Q


class PaperNumber(models.Model):
    """One number of a year's series, taken before the paper is drawn so that it can be printed on it.

    Guarantees: written once; no number is taken twice. A number whose paper could not be drawn is never given away.
    """

    key = models.UUIDField(unique=True)
    year = models.PositiveSmallIntegerField()
    serial = models.PositiveIntegerField()
    taken_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    taken_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["year", "serial"], name="paper_number_once_in_its_year")]

    def __str__(self) -> str:
        return f"{self.year}-{self.serial:04}"


class IssuedPaper(models.Model):
    """A paper that somebody received. Its bytes are kept by their digest and served again as they are.

    Guarantees: written once; a first paper stands once for its donor, gift or partner and its days, and a corrected
    one names the one whose place it takes. `facts` hold ids and figures, never a name that somebody typed.
    """

    class Kind(models.TextChoices):
        IMPACT = "impact_statement", "impact statement"
        RECEIPT = "gift_receipt", "gift receipt"
        LETTER = "thank_you_letter", "thank-you letter"
        PARTNER = "partner_statement", "partner statement"

    number = models.OneToOneField(PaperNumber, on_delete=models.PROTECT, related_name="paper")
    kind = models.CharField(max_length=20, choices=Kind.choices)
    donor_id = models.BigIntegerField(null=True, blank=True)
    gift_id = models.BigIntegerField(null=True, blank=True)
    partner = models.ForeignKey(
        "clinic.Partner", on_delete=models.PROTECT, null=True, blank=True, related_name="papers"
    )
    from_on = models.DateField()
    to_on = models.DateField()
    facts = models.JSONField()
    sha256 = models.CharField(max_length=64)
    size = models.PositiveIntegerField()
    once = models.CharField(max_length=80, null=True, blank=True, unique=True)  # whose and which days: one first paper
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by")
    why = models.CharField(max_length=300, blank=True)
    issued_on = models.DateField()
    issued_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    issued_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(donor_id__isnull=False, partner=None)
                | Q(donor_id=None, gift_id=None, partner__isnull=False),
                name="issued_paper_is_for_a_donor_or_a_partner",
            ),
            models.CheckConstraint(
                condition=Q(replaces=None, why="", once__isnull=False)
                | Q(replaces__isnull=False, once=None) & ~Q(why=""),
                name="issued_paper_is_a_first_one_or_says_why",
            ),
            models.CheckConstraint(
                condition=Q(to_on__gte=models.F("from_on")), name="issued_paper_ends_after_it_begins"
            ),
        ]
        indexes = [
            models.Index(fields=["donor_id", "from_on"], name="issued_paper_by_donor"),
            models.Index(fields=["issued_on", "id"], name="issued_paper_by_day"),
        ]

    def __str__(self) -> str:
        return f"paper {self.number_id}"


class PaperWithdrawal(models.Model):
    """An issued paper that no longer counts: a receipt canceled, or a photograph whose consent was taken back.

    The file is kept; where `is_served` is false nobody is handed it any more (I5).
    """

    paper = models.OneToOneField(IssuedPaper, on_delete=models.PROTECT, related_name="withdrawal")
    why = models.CharField(max_length=300)
    is_served = models.BooleanField()
    by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"withdrawal of paper {self.paper_id}"


class PaperDestruction(models.Model):
    """The file of a paper was destroyed, years after its donor's name was erased.

    Guarantees: never changed, never deleted; the paper's number, its facts and the SHA-256 of its file stay.
    """

    paper = models.OneToOneField(IssuedPaper, on_delete=models.PROTECT, related_name="destruction")
    why = models.CharField(max_length=300)
    by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(why=""), name="paper_destruction_says_why")]

    def __str__(self) -> str:
        return f"destruction of paper {self.paper_id}"
