"""Services and their price list in three figures: what it costs, what a client pays, what the funds are asked."""

from django.db import models
from djmoney.models.fields import MoneyField


class Service(models.Model):
    """A thing that care consists of and that has a price."""

    class Kind(models.TextChoices):
        BOARDING = "boarding", "boarding"
        DRESSING = "dressing", "dressing"
        MEDICATION = "medication", "medication"
        CARE = "care", "nursing care"
        EXAM = "exam", "exam"
        IMAGING = "imaging", "radiograph and imaging"
        LABORATORY = "laboratory", "laboratory test"
        VACCINE = "vaccine", "vaccine"
        PROCEDURE = "procedure", "procedure"
        STAFF_TIME = "staff_time", "staff time"
        OUTSIDE = "outside", "outside service"

    code = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=12, choices=Kind.choices)
    unit = models.CharField(max_length=20, default="each")
    traits = models.JSONField(default=list, blank=True)
    standard_minutes = models.PositiveSmallIntegerField(default=0)
    room_minutes = models.PositiveSmallIntegerField(default=0)  # of the theater
    usual_most = models.PositiveSmallIntegerField(default=12)  # more of it in a day is shown as unusual
    retired_on = models.DateField(null=True, blank=True)

    class Meta:
        indexes = [models.Index(fields=["kind", "name"], name="service_by_kind")]

    def __str__(self) -> str:
        return self.name

    @property
    def is_medication(self) -> bool:
        return self.kind == self.Kind.MEDICATION


class BoardingLevel(models.Model):
    """A named level of daily care; its service carries standard minutes and prices."""

    service = models.OneToOneField(Service, on_delete=models.PROTECT, related_name="boarding_level")
    name = models.CharField(max_length=40, unique=True)
    position = models.PositiveSmallIntegerField(default=0)

    def __str__(self) -> str:
        return self.name


class Price(models.Model):
    """The three figures of a service from a date on, per unit, to six decimals.

    A computed cost, and what is asked as a share, are worked out for each day (`clinic.queries.unit_prices`): their
    columns hold 0, so that no figure stands there that has gone stale.
    """

    class CostFrom(models.TextChoices):
        TYPED = "typed", "typed"
        COMPUTED = "computed", "computed"

    class AskedFrom(models.TextChoices):
        TYPED = "typed", "typed"
        USUAL_FEE = "usual_fee", "usual fee"
        COST = "cost", "cost"

    service = models.ForeignKey(Service, on_delete=models.PROTECT, related_name="prices")
    starts_on = models.DateField()
    cost = MoneyField(max_digits=16, decimal_places=6, default_currency="XXX")
    usual_fee = MoneyField(max_digits=16, decimal_places=6, default_currency="XXX")
    asked = MoneyField(max_digits=16, decimal_places=6, default_currency="XXX")
    donated = MoneyField(max_digits=16, decimal_places=6, default_currency="XXX", null=True, blank=True)  # of the cost
    cost_from = models.CharField(max_length=8, choices=CostFrom.choices, default=CostFrom.TYPED)
    asked_from = models.CharField(max_length=9, choices=AskedFrom.choices, default=AskedFrom.TYPED)
    asked_percent = models.DecimalField(
        max_digits=6, decimal_places=3, null=True, blank=True
    )  # of what it is asked from
    set_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    set_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["service", "starts_on"], name="price_once_per_service_and_date"),
            models.CheckConstraint(
                condition=models.Q(cost__gte=0) & models.Q(usual_fee__gte=0) & models.Q(asked__gte=0),
                name="price_not_negative",
            ),
            models.CheckConstraint(
                condition=models.Q(asked__lte=models.F("usual_fee")), name="price_asked_not_above_usual_fee"
            ),
            models.CheckConstraint(
                condition=models.Q(donated=None) | models.Q(donated__gte=0, donated__lte=models.F("cost")),
                name="price_donated_within_the_cost",
            ),
            models.CheckConstraint(
                condition=models.Q(cost_from="typed") | models.Q(cost_from="computed", cost=0, donated=None),
                name="price_computed_cost_is_not_typed",
            ),
            models.CheckConstraint(
                condition=models.Q(asked_from="typed", asked_percent=None)
                | models.Q(asked_from="usual_fee", asked=0, asked_percent__range=(0, 100))
                | models.Q(asked_from="cost", asked=0, asked_percent__gte=0, asked_percent__isnull=False),
                name="price_asked_share_has_its_percent",
            ),
        ]

    def __str__(self) -> str:
        return f"price of service {self.service_id} from {self.starts_on}"
