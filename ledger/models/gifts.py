"""Gifts: money or goods from a donor."""

from django.db import models
from django.db.models import Q


class Gift(models.Model):
    """Guarantees: never changed, never deleted. What it was given for is the fund of its inflow."""

    class Way(models.TextChoices):
        BANK = "bank", "bank, check or cash"
        GIVING_SITE = "giving_site", "giving site"
        GOODS = "goods", "goods"
        OPENING = "opening", "left from before these books began"
        PAST = "past", "before these books began, for receipts"

    entry = models.OneToOneField("ledger.Entry", on_delete=models.PROTECT, related_name="gift")
    donor = models.ForeignKey("ledger.Donor", on_delete=models.PROTECT, null=True, blank=True, related_name="gifts")
    way = models.CharField(max_length=12, choices=Way.choices)
    received_on = models.DateField()
    amount_minor = models.BigIntegerField()
    fee_minor = models.BigIntegerField(default=0)
    quantity_thousandths = models.BigIntegerField(null=True, blank=True)
    unit = models.CharField(max_length=30, blank=True)
    # True where the giver never saw what happens to money that is not needed: then the giver is asked (E4).
    clause_unseen = models.BooleanField(null=True, blank=True)
    is_anonymous = models.BooleanField(null=True, blank=True)  # True: the giver does not want to be named
    is_recurring = models.BooleanField(null=True, blank=True)  # True: one of a series, as its giving site says
    fee_from_general = models.BooleanField(null=True, blank=True)  # True: general money paid its fee (E2)
    original_minor = models.BigIntegerField(null=True, blank=True)  # as it was given, in a foreign currency (E6)
    original_currency = models.CharField(max_length=3, null=True, blank=True)
    advance = models.ForeignKey(  # the conditional gift whose condition was met (E6)
        "ledger.Advance", on_delete=models.PROTECT, null=True, blank=True, related_name="gifts"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(amount_minor__gt=0), name="gift_amount_positive"),
            models.CheckConstraint(
                condition=Q(fee_minor=0)
                | Q(way="giving_site", fee_minor__gt=0, fee_minor__lte=models.F("amount_minor")),
                name="gift_fee_only_of_a_giving_site_and_within_the_gift",
            ),
            models.CheckConstraint(
                condition=Q(way="goods", quantity_thousandths__gt=0)
                | ~Q(way="goods") & Q(quantity_thousandths__isnull=True),
                name="gift_of_goods_has_a_quantity_and_no_other_has",
            ),
            models.CheckConstraint(
                condition=Q(original_minor=None, original_currency=None)
                | Q(original_minor__gt=0, original_currency__isnull=False),
                name="gift_original_amount_has_its_currency",
            ),
            models.CheckConstraint(
                condition=Q(is_anonymous=None) | Q(is_anonymous=True, donor=None), name="gift_anonymous_has_no_donor"
            ),
        ]
        indexes = [models.Index(fields=["received_on", "id"], name="gift_by_date")]

    def __str__(self) -> str:
        return f"gift {self.id}"
