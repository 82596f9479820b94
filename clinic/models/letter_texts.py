"""The texts of letters, as the manager wrote them."""

from django.db import models


class LetterText(models.Model):
    """One wording of one letter. Guarantee: written once; the last one holds, those before it stay."""

    key = models.UUIDField(unique=True)
    code = models.CharField(max_length=20)
    text = models.TextField()
    set_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    set_at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["code", "-id"], name="letter_text_last_first")]

    def __str__(self) -> str:
        return f"{self.code} {self.pk}"
