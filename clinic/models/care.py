"""The facts of care: priced items, observations without price, and procedures."""

from django.db import models


class CareItem(models.Model):
    """A priced fact: what was given to an animal on a day, and by whom.

    Guarantees (the database refuses anything else): once its row of the ward sheet is signed off, the item
    is never changed or deleted, and a new item for that row is a late entry.
    """

    class Source(models.TextChoices):
        PAPER = "paper", "from paper"
        MEMORY = "memory", "from memory"
        TOLD = "told", "told by somebody"

    key = models.UUIDField(unique=True)
    animal = models.ForeignKey("clinic.Animal", on_delete=models.PROTECT, related_name="care_items")
    on = models.DateField()
    service = models.ForeignKey("clinic.Service", on_delete=models.PROTECT, related_name="+")
    quantity = models.DecimalField(max_digits=9, decimal_places=3)
    order = models.ForeignKey("clinic.Order", null=True, blank=True, on_delete=models.PROTECT, related_name="given")
    round = models.CharField(max_length=8, blank=True)
    # A part of what a whole group got: which one, from 0 on; the part shares the price of the whole (B4).
    group_fact = models.ForeignKey(
        "clinic.GroupFact", null=True, blank=True, on_delete=models.PROTECT, related_name="items"
    )
    group_part = models.PositiveSmallIntegerField(null=True, blank=True)
    given_free = models.BooleanField(default=False)  # minutes that nobody is paid for
    emergency = models.BooleanField(default=False)
    path_key = models.CharField(max_length=32, blank=True)
    given_by = models.CharField(max_length=120, blank=True)  # for a late entry; "not known" is an answer
    recorded_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()
    late = models.BooleanField(default=False)
    late_source = models.CharField(max_length=8, choices=Source.choices, blank=True)
    undone_at = models.DateTimeField(null=True, blank=True)
    undone_by = models.ForeignKey("clinic.User", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    signing = models.ForeignKey(
        "clinic.Signing", null=True, blank=True, on_delete=models.PROTECT, related_name="care_items"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(quantity__gt=0) & models.Q(quantity__lte=1440),
                name="care_item_quantity_in_reason",
            ),
            models.CheckConstraint(
                condition=models.Q(late=False) | ~models.Q(late_source=""),
                name="care_item_late_names_its_source",
            ),
            models.CheckConstraint(
                condition=models.Q(group_fact=None, group_part=None)
                | models.Q(group_fact__isnull=False, group_part__isnull=False),
                name="care_item_part_names_its_whole",
            ),
            models.UniqueConstraint(fields=["group_fact", "group_part"], name="care_item_part_once"),
        ]
        indexes = [
            models.Index(fields=["on", "animal"], name="care_item_by_day"),
            models.Index(fields=["animal", "on"], name="care_item_by_animal"),
            models.Index(fields=["on"], condition=models.Q(signing__isnull=True), name="care_item_unsigned"),
        ]

    def __str__(self) -> str:
        return f"care item {self.pk} of animal {self.animal_id} on {self.on}"


class ItemPart(models.Model):
    """What an item took, where that was written down: minutes of a grade, or so much of a supply.

    Guarantees (the database refuses anything else): written once, and never for an item that is signed off.
    """

    care_item = models.ForeignKey(CareItem, on_delete=models.PROTECT, related_name="parts")
    grade = models.ForeignKey("clinic.Grade", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    supply = models.ForeignKey("clinic.Supply", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    quantity = models.DecimalField(max_digits=9, decimal_places=3)  # for the whole item
    free = models.DecimalField(max_digits=9, decimal_places=3, default=0)  # of it, minutes that nobody is paid for
    words = models.CharField(max_length=200, blank=True)  # how the minutes came about

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["care_item", "grade"], name="item_part_once_per_grade"),
            models.UniqueConstraint(fields=["care_item", "supply"], name="item_part_once_per_supply"),
            models.CheckConstraint(
                condition=models.Q(grade__isnull=False, supply__isnull=True)
                | models.Q(grade__isnull=True, supply__isnull=False, free=0),
                name="item_part_is_time_or_supply",
            ),
            models.CheckConstraint(
                condition=models.Q(quantity__gte=0, free__gte=0, free__lte=models.F("quantity")),
                name="item_part_free_within_it",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} of a part of care item {self.care_item_id}"


class Observation(models.Model):
    """A fact without price: comfort, pain, appetite, weight, use of the limb, a wound reading, a note."""

    class Kind(models.TextChoices):
        NOTE = "note", "note"
        COMFORT = "comfort", "comfort"
        PAIN = "pain", "pain"
        APPETITE = "appetite", "appetite"
        WEIGHT = "weight", "weight"
        LIMB_USE = "limb_use", "use of the limb"
        WOUND = "wound", "wound reading"

    key = models.UUIDField(unique=True)
    animal = models.ForeignKey("clinic.Animal", on_delete=models.PROTECT, related_name="observations")
    on = models.DateField()
    kind = models.CharField(max_length=10, choices=Kind.choices)
    value = models.DecimalField(max_digits=9, decimal_places=3, null=True, blank=True)
    maximum = models.DecimalField(max_digits=9, decimal_places=3, null=True, blank=True)
    unit = models.CharField(max_length=20, blank=True)
    words = models.TextField(blank=True)
    recorded_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(kind="pain") | models.Q(maximum__isnull=False),
                name="observation_pain_has_its_scale",
            ),
        ]
        indexes = [models.Index(fields=["animal", "on"], name="observation_by_animal")]

    def __str__(self) -> str:
        return f"{self.kind} of animal {self.animal_id} on {self.on}"


class Procedure(models.Model):
    """Surgery or another theater event; its priced fact is a care item."""

    care_item = models.OneToOneField(CareItem, on_delete=models.PROTECT, related_name="procedure")
    asa_class = models.PositiveSmallIntegerField(null=True, blank=True)
    vet = models.ForeignKey("clinic.User", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    anesthesia_minutes = models.PositiveSmallIntegerField(null=True, blank=True)
    room_minutes = models.PositiveSmallIntegerField(null=True, blank=True)  # empty: as planned
    result = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(asa_class__isnull=True) | models.Q(asa_class__range=(1, 5)),
                name="procedure_asa_class_1_to_5",
            ),
        ]

    def __str__(self) -> str:
        return f"procedure of care item {self.care_item_id}"
