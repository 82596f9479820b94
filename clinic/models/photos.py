"""Photos of animals, and who agreed to what is done with them."""

from django.db import models
from django.db.models import Q


class Photo(models.Model):
    """A photo is clinical until a consent stands beside it; one taken back is no longer shown."""

    key = models.UUIDField(unique=True)
    animal = models.ForeignKey("clinic.Animal", on_delete=models.PROTECT, related_name="photos")
    sha256 = models.CharField(max_length=64)
    content_type = models.CharField(max_length=40)
    taken_on = models.DateField()
    words = models.CharField(max_length=120, blank=True)
    added_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    added_at = models.DateTimeField()
    taken_back_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes = [models.Index(fields=["animal", "taken_on"], name="photo_by_animal")]

    def __str__(self) -> str:
        return f"photo {self.pk} of animal {self.animal_id}"


class PhotoConsent(models.Model):
    """Who agreed, for what, until when. Guarantee: it never changes but for the day it is withdrawn from."""

    class Use(models.TextChoices):
        STATEMENT = "statement", "statements to donors and partners"
        APPEAL = "appeal", "asking for gifts"

    key = models.UUIDField(unique=True)
    photo = models.ForeignKey(Photo, on_delete=models.PROTECT, related_name="consents")
    uses = models.JSONField()
    owner_said = models.CharField(max_length=120)
    people = models.CharField(max_length=200, blank=True)  # who is to be seen in it, each of whom agreed
    from_on = models.DateField()
    until_on = models.DateField(null=True, blank=True)  # the last day
    by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    withdrawn_on = models.DateField(null=True, blank=True)  # from this day on it no longer holds
    withdrawn_why = models.CharField(max_length=200, blank=True)
    withdrawn_by = models.ForeignKey("clinic.User", null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(owner_said=""), name="photo_consent_names_who_agreed"),
            models.CheckConstraint(
                condition=Q(until_on__isnull=True) | Q(until_on__gte=models.F("from_on")),
                name="photo_consent_ends_not_before_it_begins",
            ),
            models.CheckConstraint(
                condition=Q(withdrawn_on=None, withdrawn_by=None)
                | Q(withdrawn_on__isnull=False, withdrawn_by__isnull=False),
                name="photo_consent_withdrawn_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"consent {self.pk} for photo {self.photo_id}"

    def holds_for(self, use: str, on) -> bool:
        """Say whether a use was agreed to on a day: begun, not ended, not withdrawn."""
        ended = self.until_on is not None and on > self.until_on
        withdrawn = self.withdrawn_on is not None and on >= self.withdrawn_on
        return use in self.uses and self.from_on <= on and not ended and not withdrawn
