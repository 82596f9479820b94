"""The books' own row: locked first by everything that posts."""

from django.db import models


class Books(models.Model):
    """One row, locked and never changed by people.

    On SQLite `is_pen_down` is true only while a trigger writes a kept figure (what is left of an inflow, a
    day's closing balance); those figures refuse every change while it is false.
    """

    id = models.PositiveSmallIntegerField(primary_key=True, default=1)
    is_pen_down = models.BooleanField(default=False)

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(id=1), name="books_are_one")]

    def __str__(self) -> str:
        return "the books"


def seed(using: str) -> None:
    Books.objects.using(using).get_or_create(id=1)
