"""The fund holder: whose books these are (A1)."""

from django.db import models


class Holder(models.Model):
    """One row. Kind, number and country decide which papers a donor may get; the currency is the books' own."""

    class Kind(models.TextChoices):
        OWN_CHARITY = "own_charity", "the clinic's own registered charity"
        OTHER_CHARITY = "other_charity", "a charity that holds the money for the clinic"
        PRACTICE = "practice", "the practice itself"

    id = models.PositiveSmallIntegerField(primary_key=True, default=1)
    kind = models.CharField(max_length=16, choices=Kind.choices)
    name = models.CharField(max_length=160)
    number = models.CharField(max_length=40, blank=True)
    country = models.CharField(max_length=2)
    currency = models.CharField(max_length=3)
    fiscal_year_starts = models.PositiveSmallIntegerField(default=1)  # a month, 1 to 12

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(id=1), name="holder_is_one"),
            models.CheckConstraint(
                condition=models.Q(fiscal_year_starts__range=(1, 12)), name="holder_fiscal_year_starts_in_a_month"
            ),
        ]

    def __str__(self) -> str:
        return self.name
