"""Funds: money under one set of rules."""

from django.db import models
from django.db.models import Q


class Fund(models.Model):
    """Guarantees: what it is for and whether its givers restricted it never change once it is open."""

    class Kind(models.TextChoices):
        GENERAL = "general", "general money"
        PARTNER = "partner", "fund of a partner"
        ANIMAL = "animal", "gifts that name an animal"
        PURPOSE = "purpose", "fund for a purpose"
        RESERVE = "reserve", "reserve or legacy"
        AGREEMENT = "agreement", "a partner's agreement"
        GIVEN = "given", "given by the clinic"
        GOODS = "goods", "donated goods"

    key = models.UUIDField(unique=True)
    kind = models.CharField(max_length=9, choices=Kind.choices)
    name = models.CharField(max_length=80, unique=True)
    is_restricted = models.BooleanField(default=False)
    party_key = models.CharField(max_length=40, blank=True)
    subject_key = models.CharField(max_length=40, blank=True)
    traits = models.CharField(max_length=400, blank=True)
    given_for = models.CharField(max_length=200, blank=True)
    leftover = models.CharField(max_length=300, blank=True)
    leftover_to = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    # Who judged that the clause applies, when and why; nobody yet: its money waits.
    leftover_by = models.BigIntegerField(null=True, blank=True)
    leftover_on = models.DateField(null=True, blank=True)
    leftover_why = models.CharField(max_length=300, blank=True)
    use_by = models.DateField(null=True, blank=True)
    report_on = models.DateField(null=True, blank=True)
    opened_on = models.DateField()
    opened_by = models.BigIntegerField()
    closed_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(
                    kind__in=("general", "partner", "animal", "purpose", "reserve", "agreement", "given", "goods")
                ),
                name="fund_kind_is_known",
            ),
            models.CheckConstraint(
                condition=Q(kind="animal") & ~Q(subject_key="") | ~Q(kind="animal") & Q(subject_key=""),
                name="fund_of_an_animal_names_it_and_no_other_does",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=("partner", "agreement")) & ~Q(party_key="")
                | ~Q(kind__in=("partner", "agreement")) & Q(party_key=""),
                name="fund_of_a_partner_names_it_and_no_other_does",
            ),
            models.CheckConstraint(
                condition=Q(kind="purpose") & ~Q(traits="") | ~Q(kind="purpose") & Q(traits=""),
                name="fund_for_a_purpose_has_traits_and_no_other_does",
            ),
            models.CheckConstraint(
                condition=Q(is_restricted=False) | Q(kind__in=("partner", "animal", "purpose")),
                name="fund_restricted_only_by_its_givers",
            ),
            models.CheckConstraint(
                condition=Q(closed_on=None) | Q(closed_on__gte=models.F("opened_on")),
                name="fund_closed_after_it_opened",
            ),
            models.CheckConstraint(
                condition=Q(leftover_by=None, leftover_on=None, leftover_why="")
                | Q(leftover_by__isnull=False, leftover_on__isnull=False, is_restricted=True) & ~Q(leftover_why=""),
                name="fund_leftover_judged_by_name_and_why",
            ),
            models.CheckConstraint(condition=~Q(leftover_to=models.F("id")), name="fund_leftover_goes_elsewhere"),
            models.UniqueConstraint(
                fields=["party_key"], condition=Q(kind="agreement"), name="fund_of_agreement_once_per_partner"
            ),
            models.UniqueConstraint(
                fields=["kind"], condition=Q(kind__in=("given", "goods")), name="fund_given_and_goods_once"
            ),
        ]
        indexes = [
            models.Index(fields=["subject_key"], condition=~Q(subject_key=""), name="fund_by_subject"),
            models.Index(fields=["party_key"], condition=~Q(party_key=""), name="fund_by_party"),
        ]

    def __str__(self) -> str:
        return self.name
