"""Groups: a litter, a mother with her young; one row of the ward sheet until split."""

from django.db import models
from django.db.models import Q


class Group(models.Model):
    """Animals that are cared for as one; which animals is said by `Animal.group`."""

    key = models.UUIDField(unique=True)
    name = models.CharField(max_length=80)
    since_on = models.DateField()
    split_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(split_on__isnull=True) | Q(split_on__gte=models.F("since_on")),
                name="group_is_split_not_before_it_was_made",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class GroupFact(models.Model):
    """What was given to all of a group at once: priced once, its parts are the care items that name it.

    Guarantee (the database refuses anything else): written once.
    """

    key = models.UUIDField(unique=True)
    group = models.ForeignKey(Group, on_delete=models.PROTECT, related_name="facts")
    quantity = models.DecimalField(max_digits=9, decimal_places=3)  # for all together
    count = models.PositiveSmallIntegerField()  # the animals that share it

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(count__gte=2, quantity__gt=0), name="group_fact_is_shared"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} for {self.count} animals of group {self.group_id}"
