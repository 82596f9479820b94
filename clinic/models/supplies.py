"""Supplies and kits: one tap gives the whole dressing change."""

from django.db import models
from djmoney.models.fields import MoneyField


class Supply(models.Model):
    code = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=80)
    unit = models.CharField(max_length=20, default="each")

    def __str__(self) -> str:
        return self.name


class SupplyPrice(models.Model):
    """What one unit of a supply costs to buy, from a date on."""

    supply = models.ForeignKey(Supply, on_delete=models.PROTECT, related_name="prices")
    starts_on = models.DateField()
    cost = MoneyField(max_digits=16, decimal_places=6, default_currency="XXX")
    set_by = models.ForeignKey("clinic.User", on_delete=models.PROTECT, related_name="+")
    set_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["supply", "starts_on"], name="supply_price_once_per_supply_and_date"),
            models.CheckConstraint(condition=models.Q(cost__gte=0), name="supply_price_not_negative"),
        ]

    def __str__(self) -> str:
        return f"price of supply {self.supply_id} from {self.starts_on}"


class Kit(models.Model):
    """The supplies that go together in one service; its minutes are the service's standard minutes."""

    service = models.OneToOneField("clinic.Service", on_delete=models.PROTECT, related_name="kit")

    def __str__(self) -> str:
        return f"kit of service {self.service_id}"


class KitLine(models.Model):
    kit = models.ForeignKey(Kit, on_delete=models.CASCADE, related_name="lines")
    supply = models.ForeignKey(Supply, on_delete=models.PROTECT, related_name="+")
    quantity = models.DecimalField(max_digits=9, decimal_places=3)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["kit", "supply"], name="kit_line_once_per_supply"),
            models.CheckConstraint(condition=models.Q(quantity__gt=0), name="kit_line_quantity_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} of supply {self.supply_id}"
