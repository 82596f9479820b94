"""What stands on the shelf: lots as they came, counts, and every move out of a lot and back into it.

Quantities are whole millionths of the supply's unit, amounts of a lot whole minor units, and the money that moves with
a part of a lot whole millionths of a minor unit.
"""

from django.db import models
from django.db.models import F, Q


class SupplyPack(models.Model):
    """How many units of a supply a pack holds: a box of 12."""

    supply = models.ForeignKey("clinic.Supply", on_delete=models.CASCADE, related_name="packs")
    name = models.CharField(max_length=20)
    holds = models.DecimalField(max_digits=9, decimal_places=3)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["supply", "name"], name="supply_pack_once_per_name"),
            models.CheckConstraint(condition=Q(holds__gt=0), name="supply_pack_holds_something"),
        ]

    def __str__(self) -> str:
        return f"{self.name} of {self.holds}"


class StockCount(models.Model):
    """What somebody found on the shelf, and what should have stood there. Guarantees: never changed, never deleted."""

    key = models.UUIDField(unique=True)
    supply = models.ForeignKey("clinic.Supply", on_delete=models.PROTECT, related_name="counts")
    counted_on = models.DateField()
    found_millionths = models.BigIntegerField()
    expected_millionths = models.BigIntegerField()  # on hand, less what is given and not signed off yet
    why = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(found_millionths__gte=0), name="stock_count_not_negative")]
        indexes = [models.Index(fields=["supply", "-id"], name="stock_count_latest")]

    def __str__(self) -> str:
        return f"count {self.pk} of supply {self.supply_id}"


class SupplyLot(models.Model):
    """What arrived together. Guarantees: what is left is what came less what moved, kept by trigger, never below zero.

    A lot that was given stands at its fair value, which the books keep under the gift; a lot that a count found costs
    nothing. `is_averaged` says that its money was leveled with its neighbors', and is no longer its own price.
    """

    class Source(models.TextChoices):
        BOUGHT = "bought", "bought"
        GIVEN = "given", "donated"
        FOUND = "found", "found at a count"

    key = models.UUIDField(unique=True)
    supply = models.ForeignKey("clinic.Supply", on_delete=models.PROTECT, related_name="lots")
    source = models.CharField(max_length=6, choices=Source.choices)
    arrived_on = models.DateField()
    quantity_millionths = models.BigIntegerField()
    written = models.CharField(max_length=60)  # as it was typed: "2 box"
    cost_minor = models.BigIntegerField()
    number = models.CharField(max_length=40, blank=True)
    expires_on = models.DateField(null=True, blank=True)
    words = models.CharField(max_length=120, blank=True)  # from whom
    gift_entry = models.BigIntegerField(null=True, blank=True)  # the ledger's entry of the gift of goods
    count = models.OneToOneField(StockCount, on_delete=models.PROTECT, null=True, blank=True, related_name="lot")
    left_millionths = models.BigIntegerField()
    left_cost = models.BigIntegerField()
    left_donated = models.BigIntegerField(default=0)
    is_averaged = models.BooleanField(default=False)
    last_move = models.BigIntegerField(default=0)
    by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(quantity_millionths__gt=0, cost_minor__gte=0), name="supply_lot_came"),
            models.CheckConstraint(
                condition=Q(left_millionths__gte=0, left_millionths__lte=F("quantity_millionths")),
                name="supply_lot_left_within_what_came",
            ),
            models.CheckConstraint(
                condition=Q(left_donated__gte=0, left_donated__lte=F("left_cost")),
                name="supply_lot_donated_within_its_money",
            ),
            models.CheckConstraint(
                condition=~Q(left_millionths=0) | Q(left_cost=0), name="supply_lot_without_money_when_empty"
            ),
            models.CheckConstraint(
                condition=Q(source="bought", gift_entry=None, count=None)
                | Q(source="given", gift_entry__isnull=False, count=None)
                | Q(source="found", gift_entry=None, count__isnull=False, cost_minor=0),
                name="supply_lot_says_where_it_came_from",
            ),
        ]
        indexes = [
            models.Index(
                fields=["supply", "arrived_on", "id"], condition=Q(left_millionths__gt=0), name="supply_lot_on_hand"
            ),
            models.Index(fields=["supply", "arrived_on"], name="supply_lot_by_date"),
        ]

    def __str__(self) -> str:
        return f"lot {self.pk} of supply {self.supply_id}"


class StockMove(models.Model):
    """A part of a lot that left it, came back, or got another price. Guarantees: never changed, never deleted."""

    class Kind(models.TextChoices):
        USE = "use", "used"
        COUNT = "count", "not found at a count"
        BACK = "back", "put back"
        AWAY = "away", "lot taken back"
        AVERAGE = "average", "leveled to the average"

    lot = models.ForeignKey(SupplyLot, on_delete=models.PROTECT, related_name="moves")
    kind = models.CharField(max_length=7, choices=Kind.choices)
    on = models.DateField()
    quantity_millionths = models.BigIntegerField()
    cost = models.BigIntegerField()
    donated = models.BigIntegerField(default=0)
    charge_key = models.UUIDField(null=True, blank=True)  # the line of care that used it
    count = models.ForeignKey(StockCount, on_delete=models.PROTECT, null=True, blank=True, related_name="moves")
    back_of = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="put_back")
    by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=["use", "count", "away"], quantity_millionths__lt=0, cost__lte=0, donated__lte=0)
                | Q(kind="back", quantity_millionths__gt=0, cost__gte=0, donated__gte=0)
                | Q(kind="average", quantity_millionths=0),
                name="stock_move_goes_one_way",
            ),
            models.CheckConstraint(
                condition=Q(kind="use", charge_key__isnull=False, back_of=None, count=None)
                | Q(kind="back", charge_key__isnull=False, back_of__isnull=False, count=None)
                | Q(kind="count", charge_key=None, back_of=None, count__isnull=False)
                | Q(kind__in=["away", "average"], charge_key=None, back_of=None, count=None),
                name="stock_move_says_why",
            ),
        ]
        indexes = [
            models.Index(fields=["charge_key"], condition=Q(charge_key__isnull=False), name="stock_move_by_charge"),
            models.Index(fields=["lot", "id"], name="stock_move_by_lot"),
            models.Index(fields=["on"], condition=Q(kind="use"), name="stock_move_use_by_day"),
        ]

    def __str__(self) -> str:
        return f"move {self.pk} of lot {self.lot_id}"
