"""Answers of givers who never saw a leftover clause: what happens to what is left of their gift (E4)."""

from django.db import models
from django.db.models import Q


class LeftoverAnswer(models.Model):
    """Guarantees: never changed, never deleted; the last answer for a gift and a fund counts. Silence moves nothing."""

    class Answer(models.TextChoices):
        MOVE = "move", "it may move under the clause"
        REFUND = "refund", "it goes back to the giver"
        LEAVE = "leave", "it stays where it is"

    key = models.UUIDField(unique=True)
    gift = models.ForeignKey("ledger.Gift", on_delete=models.PROTECT, related_name="leftover_answers")
    fund = models.ForeignKey("ledger.Fund", on_delete=models.PROTECT, related_name="leftover_answers")
    answer = models.CharField(max_length=6, choices=Answer.choices)
    why = models.CharField(max_length=300)
    amount_minor = models.BigIntegerField()
    entry = models.OneToOneField(
        "ledger.Entry", on_delete=models.PROTECT, null=True, blank=True, related_name="leftover_answer"
    )
    on = models.DateField()
    by = models.BigIntegerField()
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(answer="leave", entry=None) | Q(answer__in=("move", "refund"), entry__isnull=False),
                name="leftover_answer_that_moves_money_names_its_entry",
            ),
            models.CheckConstraint(condition=Q(amount_minor__gt=0), name="leftover_answer_amount_positive"),
        ]

    def __str__(self) -> str:
        return f"answer {self.id} for gift {self.gift_id}"
