"""The one-time code that opens the set-up page of a house that does not stand yet."""

from django.db import models


class SetUpCode(models.Model):
    """Guarantee: at most one. Only its SHA-256 is kept; a new start replaces it."""

    code_sha256 = models.CharField(max_length=64)
    made_at = models.DateTimeField()

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="set_up_code_is_one")]

    def __str__(self) -> str:
        return f"set-up code of {self.made_at:%Y-%m-%d}"
