"""The bank: its accounts, the files that were brought, the statements in them, and each line once."""

from django.db import models
from django.db.models import F, Q


class BankAccount(models.Model):
    """An account of the holder. Where its statements come as tables, what their columns hold is remembered."""

    key = models.UUIDField(unique=True)
    name = models.CharField(max_length=80, unique=True)
    identifier = models.CharField(max_length=120, null=True, blank=True, unique=True)  # as the bank's files name it
    currency = models.CharField(max_length=3)
    columns = models.JSONField(default=dict)  # meaning: head
    decimal = models.CharField(max_length=1, blank=True)  # empty: each file says it itself
    day_first = models.BooleanField(null=True, blank=True)
    made_by = models.BigIntegerField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(decimal__in=("", ".", ",")), name="bank_account_decimal_is_known"),
        ]

    def __str__(self) -> str:
        return f"bank account {self.id}"


class BankFile(models.Model):
    """A file as it came, kept by its digest; bringing it again finds the same row."""

    class Form(models.TextChoices):
        OFX = "ofx", "OFX"
        CAMT = "camt", "ISO 20022 camt.053"
        TABLE = "table", "table"

    sha256 = models.CharField(max_length=64, unique=True)
    content_type = models.CharField(max_length=100)
    name = models.CharField(max_length=120)
    form = models.CharField(max_length=8, choices=Form.choices)
    account = models.ForeignKey(  # of a table, which does not name its account itself
        BankAccount, null=True, blank=True, on_delete=models.PROTECT, related_name="tables"
    )
    closing_minor = models.BigIntegerField(null=True, blank=True)  # of a table without balances, told by who brought it
    copy_gone_on = models.DateField(null=True, blank=True)  # it named somebody whose name was erased
    brought_by = models.BigIntegerField(null=True)
    brought_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(form__in=("ofx", "camt", "table")), name="bank_file_form_is_known"),
            models.CheckConstraint(
                condition=Q(form="table") | Q(account=None, closing_minor=None),
                name="bank_file_says_its_account_itself",
            ),
        ]

    def __str__(self) -> str:
        return f"bank file {self.id}"


class BankStatement(models.Model):
    """Guarantees: never changed, never deleted; what it opened with and what moved make what it closed with.

    `known_minor` is what of the movements another statement had brought before.
    """

    account = models.ForeignKey(BankAccount, on_delete=models.PROTECT, related_name="statements")
    file = models.ForeignKey(BankFile, on_delete=models.PROTECT, related_name="statements")
    content = models.CharField(max_length=64)
    reference = models.CharField(max_length=80, blank=True)
    from_on = models.DateField()
    to_on = models.DateField()
    opening_minor = models.BigIntegerField()
    moved_minor = models.BigIntegerField()
    known_minor = models.BigIntegerField()
    closing_minor = models.BigIntegerField()
    opening_told = models.BooleanField()
    taken_by = models.BigIntegerField(null=True)
    taken_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["account", "content"], name="bank_statement_once"),
            models.CheckConstraint(
                condition=Q(closing_minor=F("opening_minor") + F("moved_minor")), name="bank_statement_foots"
            ),
            models.CheckConstraint(condition=Q(from_on__lte=F("to_on")), name="bank_statement_begins_before_it_ends"),
        ]
        indexes = [models.Index(fields=["account", "to_on", "id"], name="bank_statement_by_day")]

    def __str__(self) -> str:
        return f"bank statement {self.id}"


class BankLine(models.Model):
    """Guarantees: never changed, never deleted, each once in its account. Above zero is what came in."""

    account = models.ForeignKey(BankAccount, on_delete=models.PROTECT, related_name="lines", db_index=False)
    statement = models.ForeignKey(BankStatement, on_delete=models.PROTECT, related_name="lines")
    identity = models.CharField(max_length=64)
    on = models.DateField()
    amount_minor = models.BigIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["account", "identity"], name="bank_line_once"),
            models.CheckConstraint(condition=~Q(amount_minor=0), name="bank_line_moves_something"),
        ]
        indexes = [models.Index(fields=["account", "on", "id"], name="bank_line_by_day")]

    def __str__(self) -> str:
        return f"bank line {self.id}"


class BankLineWords(models.Model):
    """Who stands at the other end of a line, and what it says. It can be erased, and the line stays."""

    line = models.OneToOneField(BankLine, on_delete=models.PROTECT, primary_key=True, related_name="words")
    who = models.CharField(max_length=140, blank=True)
    words = models.CharField(max_length=500, blank=True)

    class Meta:
        verbose_name_plural = "bank line words"

    def __str__(self) -> str:
        return f"words of bank line {self.line_id}"
