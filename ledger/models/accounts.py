"""The accounts between which postings move money (H2)."""

from django.db import models


class Kind(models.TextChoices):
    ASSET = "asset", "what is owned"
    LIABILITY = "liability", "what is owed"
    INCOME = "income", "income"
    EXPENSE = "expense", "expense"


BANK, CLEARING, DUE_FROM_PARTNERS, GOODS_ON_HAND = "bank", "clearing", "due_from_partners", "goods_on_hand"
BILLS_TO_PAY, DUE_TO_PRACTICE = "bills_to_pay", "due_to_practice"
PARTNER_DEPOSITS, REFUNDABLE_ADVANCES = "partner_deposits", "refundable_advances"
OPENING, GIFTS, GRANTS, PARTNER_PAYMENTS = "opening", "gifts", "grants", "partner_payments"
DONATED_SERVICES, DONATED_GOODS = "donated_services", "donated_goods"
OTHER_INCOME, TRANSFERS = "other_income", "transfers"
PROCEDURES, BOARDING, SUPPLIES = "procedures", "boarding", "supplies"
STAFF_TIME, OUTSIDE_SERVICES = "staff_time", "outside_services"
FEES, MANAGEMENT, FUNDRAISING, DEBTS_GIVEN_UP = "fees", "management", "fundraising", "debts_given_up"

CARE = (PROCEDURES, BOARDING, SUPPLIES, STAFF_TIME, OUTSIDE_SERVICES)

CHART: tuple[tuple[str, Kind, str], ...] = (
    (BANK, Kind.ASSET, "Bank"),
    (CLEARING, Kind.ASSET, "Giving-site clearing"),
    (DUE_FROM_PARTNERS, Kind.ASSET, "Due from partners"),
    (GOODS_ON_HAND, Kind.ASSET, "Donated goods on hand"),
    (BILLS_TO_PAY, Kind.LIABILITY, "Bills to pay"),
    (DUE_TO_PRACTICE, Kind.LIABILITY, "Due to the practice"),
    (PARTNER_DEPOSITS, Kind.LIABILITY, "Partner deposits"),
    (REFUNDABLE_ADVANCES, Kind.LIABILITY, "Refundable advances"),
    (OPENING, Kind.INCOME, "Opening balances"),
    (GIFTS, Kind.INCOME, "Gifts"),
    (GRANTS, Kind.INCOME, "Grants"),
    (PARTNER_PAYMENTS, Kind.INCOME, "Partner payments"),
    (DONATED_SERVICES, Kind.INCOME, "Donated services"),
    (DONATED_GOODS, Kind.INCOME, "Donated goods"),
    (OTHER_INCOME, Kind.INCOME, "Other income"),
    (TRANSFERS, Kind.INCOME, "Transfers"),
    (PROCEDURES, Kind.EXPENSE, "Procedures"),
    (BOARDING, Kind.EXPENSE, "Boarding"),
    (SUPPLIES, Kind.EXPENSE, "Supplies"),
    (STAFF_TIME, Kind.EXPENSE, "Staff time"),
    (OUTSIDE_SERVICES, Kind.EXPENSE, "Outside services"),
    (FEES, Kind.EXPENSE, "Giving-site fees"),
    (MANAGEMENT, Kind.EXPENSE, "Management"),
    (FUNDRAISING, Kind.EXPENSE, "Fundraising"),
    (DEBTS_GIVEN_UP, Kind.EXPENSE, "Debts given up"),
)
KIND_OF = {code: kind for code, kind, _ in CHART}
NAME_OF = {code: name for code, _, name in CHART}


def effect(debit: str, credit: str) -> int:
    """Return what a posting does to its fund's balance: +1 raises it, -1 lowers it, 0 leaves it.

    >>> effect(BANK, GIFTS), effect(BOARDING, DUE_TO_PRACTICE)
    (1, -1)
    >>> effect(BANK, CLEARING), effect(BOARDING, DONATED_SERVICES)
    (0, 0)
    """
    moves = {Kind.INCOME, Kind.EXPENSE}
    return (KIND_OF[credit] in moves) - (KIND_OF[debit] in moves)


class Account(models.Model):
    """One account. Its code and kind never change; the accountant's own code may be set beside it."""

    code = models.SlugField(primary_key=True, max_length=24)
    kind = models.CharField(max_length=9, choices=Kind.choices)
    name = models.CharField(max_length=60)
    position = models.PositiveSmallIntegerField()
    accountants_code = models.CharField(max_length=20, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(kind__in=Kind.values), name="account_kind_is_known"),
        ]

    def __str__(self) -> str:
        return self.name


def seed(using: str) -> None:
    there = set(Account.objects.using(using).values_list("code", flat=True))
    Account.objects.using(using).bulk_create(
        Account(code=code, kind=kind, name=name, position=position)
        for position, (code, kind, name) in enumerate(CHART)
        if code not in there
    )
