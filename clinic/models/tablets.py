"""The ward's shared tablets, and the short codes by which people change on them."""

from django.db import models


class Tablet(models.Model):
    """A device that stands in the ward. It holds a long secret; only the secret's SHA-256 is kept here."""

    words = models.CharField(max_length=60)
    secret_sha256 = models.CharField(max_length=64, unique=True)
    enrolled_at = models.DateTimeField()
    enrolled_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    revoked_at = models.DateTimeField(null=True, blank=True)
    revoked_by = models.ForeignKey("clinic.User", null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                "words", condition=models.Q(revoked_at__isnull=True), name="tablet_name_once_while_it_stands"
            ),
            models.CheckConstraint(
                condition=models.Q(revoked_at__isnull=True, revoked_by__isnull=True)
                | models.Q(revoked_at__isnull=False, revoked_by__isnull=False),
                name="tablet_revoked_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"tablet {self.pk}"


class ShortCode(models.Model):
    """A person's code for the tablets, kept as slowly hashed as a password."""

    user = models.OneToOneField("clinic.User", on_delete=models.CASCADE, related_name="short_code")
    code_hash = models.CharField(max_length=128)
    set_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"short code of {self.user_id}"


class WrongCode(models.Model):
    """A code that did not fit, kept as long as it counts."""

    tablet = models.ForeignKey(Tablet, on_delete=models.CASCADE, related_name="wrong_codes")
    initials = models.CharField(max_length=4)
    at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["tablet", "at"], name="wrong_code_by_tablet")]

    def __str__(self) -> str:
        return f"wrong code at tablet {self.tablet_id}"
