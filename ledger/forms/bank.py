"""Bringing a bank's file, saying what a table's columns hold, what a line is, and signing both sides."""

from __future__ import annotations

from collections.abc import Sequence

from django import forms

from config.fields import AmountField, DayField, KeyField, LineField
from ledger.forms.gift_files import DECIMALS, NONE, ORDERS
from ledger.forms.transfers import FundField

ASKED = (
    ("on", "Day"),
    ("amount", "Amount, with its sign"),
    ("paid_in", "What came in"),
    ("paid_out", "What went out"),
    ("balance", "Balance after it"),
    ("who", "From or to whom"),
    ("words", "What it says"),
    ("reference", "Reference, different for each line"),
    ("currency", "Currency"),
    ("status", "Status, such as pending"),
)
CAME = (
    ("gift", "a gift: its donor is not named here"),
    ("payout", "a giving site’s payout of all that it holds"),
    ("partner", "a payment of a partner"),
    ("income", "other income, such as interest"),
)
WENT = (
    ("management", "a fee of the bank, or other management"),
    ("fundraising", "fundraising"),
    ("practice", "a payment to the practice"),
)
FREE = (("gift", "income"), ("management", "fundraising"))


class BankFileForm(forms.Form):
    key = KeyField()
    file = forms.FileField(label="File", help_text="OFX, ISO 20022 (camt.053), or a table: CSV or an XLSX workbook.")
    account = LineField(
        "Account, where the file is a table",
        80,
        required=False,
        help_text="By its name here: its columns are remembered.",
    )
    closing_minor = AmountField(
        "Balance at the end", required=False, help_text="Only for a table that shows no balance after each line."
    )


class BankColumnsForm(forms.Form):
    """What each column of a table holds; the boxes come from its heads."""

    decimal = forms.ChoiceField(label="Decimal mark", choices=DECIMALS, required=False)
    order = forms.ChoiceField(label="Dates of three numbers", choices=ORDERS, required=False)

    def __init__(self, *args, heads: Sequence[str], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        choices = [NONE, *((head, head) for head in dict.fromkeys(heads) if head)]
        for meaning, words in ASKED:
            self.fields[f"column_{meaning}"] = forms.ChoiceField(label=words, choices=choices, required=False)
        for name in self.fields:
            self.fields[name].one_of = True  # "no column" and "as the file shows" are answers

    @property
    def columns(self):
        return [self[f"column_{meaning}"] for meaning, _ in ASKED]

    @property
    def said(self) -> dict[str, object]:
        data = self.cleaned_data
        return {
            "columns": {meaning: data[f"column_{meaning}"] for meaning, _ in ASKED},
            "decimal": data["decimal"],
            "day_first": {"day": True, "month": False}.get(data["order"]),
        }


class BankLineForm(forms.Form):
    """What a line is, where nothing in the books stands for it."""

    key = KeyField()
    what = forms.ChoiceField(
        label="It is", widget=forms.RadioSelect, error_messages={"required": "Say what the line is."}
    )
    fund_id = FundField("Fund", required=False, empty_value=None)
    party_key = forms.ChoiceField(label="Partner", required=False)
    words = LineField("Note", 300, required=False)
    remember = LineField(
        "Know such lines by these words",
        80,
        required=False,
        help_text="Words of the line. Others with them are proposed as the same; each is still confirmed by somebody.",
    )

    def __init__(
        self, *args, came_in: bool, funds: Sequence[tuple[int, str]], partners: Sequence[tuple[str, str]], **kwargs
    ) -> None:
        super().__init__(*args, **kwargs)
        ways = [one for one in CAME if one[0] != "partner" or partners] if came_in else WENT
        self.fields["what"].choices = ways
        self.fields["fund_id"].offer(funds)
        self.fields["fund_id"].one_of = True  # what needs none of them leaves it
        self.fields["party_key"].choices = [("", "Choose a partner"), *partners]
        if not (came_in and partners):
            del self.fields["party_key"]

    def clean(self) -> dict:
        said = super().clean()
        what = said.get("what")
        if what in (*FREE[0], *FREE[1]) and said.get("fund_id") is None and "fund_id" not in self.errors:
            self.add_error("fund_id", "Choose the fund.")
        if what == "partner" and not said.get("party_key"):
            self.add_error("party_key", "Choose the partner.")
        if what in ("income", *FREE[1]) and not said.get("words"):
            self.add_error("words", "Write from what it comes, or what it was for.")
        return said

    @property
    def said(self) -> dict[str, object]:
        data = self.cleaned_data
        spent = data["what"] in FREE[1]
        return {
            "key": data["key"],
            "way": "spending" if spent else data["what"],
            "account": data["what"] if spent else "",
            "fund_id": data["fund_id"],
            "party_key": data.get("party_key", ""),
            "words": data["words"],
            "remember": data["remember"],
        }


class PickForm(forms.Form):
    """Entries of the books that make a line."""

    key = KeyField()
    entry = forms.TypedMultipleChoiceField(
        label="Entries",
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick the entries that make the line."},
    )

    def __init__(self, *args, numbers: Sequence[int], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["entry"].choices = [(number, number) for number in numbers]


class SignForm(forms.Form):
    key = KeyField()
    bank_minor = forms.IntegerField(widget=forms.HiddenInput)
    books_minor = forms.IntegerField(widget=forms.HiddenInput)
    why = LineField(
        "Why they differed at the beginning",
        300,
        required=False,
        help_text="Only where they did, before the first line.",
    )


class UntilForm(forms.Form):
    on = DayField("To")
