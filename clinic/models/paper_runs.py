"""Runs of papers: all statements of some days, made one by one, by one worker or several, whatever stops them."""

from django.db import models
from django.db.models import Q


class PaperRun(models.Model):
    """What was asked for. The truth about how far it has come is in its items."""

    class Kind(models.TextChoices):
        DONORS = "donor", "impact statements"
        PARTNERS = "partner", "partner statements"

    key = models.UUIDField(unique=True)
    kind = models.CharField(max_length=8, choices=Kind.choices)
    from_on = models.DateField()
    to_on = models.DateField()
    form = models.CharField(max_length=6, blank=True)
    started_on = models.DateField()  # the day that its papers carry
    started_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    started_at = models.DateTimeField()
    canceled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(to_on__gte=models.F("from_on")), name="paper_run_ends_after")]

    def __str__(self) -> str:
        return f"run {self.pk}"


class RunItem(models.Model):
    """One paper of a run: for whom, how far, and its e-mail.

    Guarantees: a made item has its paper, one not made says why; whoever works on one has a beat.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "waits"
        WORKING = "working", "is being made"
        MADE = "made", "made"
        NOT_MADE = "not_made", "not made"

    class Mail(models.TextChoices):
        NONE = "", "not sent"
        SENDING = "sending", "is being sent"
        SENT = "sent", "sent"
        PERHAPS = "perhaps", "perhaps sent"
        REFUSED = "refused", "refused"
        BOUNCED = "bounced", "came back"
        POSTED = "posted", "sent by post instead"

    run = models.ForeignKey(PaperRun, on_delete=models.CASCADE, related_name="items")
    place = models.PositiveIntegerField()
    donor_id = models.BigIntegerField(null=True, blank=True)
    partner = models.ForeignKey("clinic.Partner", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    paper = models.ForeignKey("clinic.IssuedPaper", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    says = models.CharField(max_length=400, blank=True)
    tries = models.PositiveSmallIntegerField(default=0)
    worker = models.CharField(max_length=40, blank=True)
    beat_at = models.DateTimeField(null=True, blank=True)
    mail = models.CharField(max_length=8, choices=Mail.choices, blank=True, default=Mail.NONE)
    mail_says = models.CharField(max_length=400, blank=True)
    mail_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["run", "place"], name="run_item_place_once"),
            models.UniqueConstraint(fields=["run", "donor_id"], name="run_item_once_per_donor"),
            models.UniqueConstraint(fields=["run", "partner"], name="run_item_once_per_partner"),
            models.CheckConstraint(
                condition=Q(donor_id__isnull=False, partner=None) | Q(donor_id=None, partner__isnull=False),
                name="run_item_is_for_a_donor_or_a_partner",
            ),
            models.CheckConstraint(
                condition=Q(state="waiting", paper=None)
                | Q(state="working", paper=None, beat_at__isnull=False)
                | Q(state="made", paper__isnull=False)
                | Q(state="not_made", paper=None) & ~Q(says=""),
                name="run_item_has_what_its_state_needs",
            ),
            models.CheckConstraint(condition=Q(mail="") | Q(state="made"), name="run_item_mails_what_is_made"),
        ]
        indexes = [models.Index(fields=["run", "state", "place"], name="run_item_by_state")]

    def __str__(self) -> str:
        return f"item {self.place} of run {self.run_id}"
