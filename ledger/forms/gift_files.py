"""Bringing a gift file, and saying what its columns hold."""

from __future__ import annotations

from collections.abc import Sequence

from django import forms

from config.fields import KeyField, LineField
from ledger.forms.gifts import WAYS, ChoosesFund
from ledger.formulas.gift_kinds import CHARGEBACK, REFUND, WENT_BACK

ASKED = (
    ("on", "Day of the gift"),
    ("gross", "Amount, as the donor gave it"),
    ("fee", "Fee of the giving site"),
    ("net", "Amount after the fee"),
    ("name", "Name of the donor"),
    ("email", "E-mail"),
    ("address", "Address"),
    ("donor_number", "Number of the donor at the site"),
    ("reference", "Reference, different for each gift"),
    ("words", "What the donor wrote"),
    ("fund", "Name of the fund"),
    ("kind", "Kind, such as gift or refund"),
    ("original", "Reference of the gift that went back"),
    ("often", "How often, such as monthly"),
)
BACK = ((REFUND, "Words that mean a refund"), (CHARGEBACK, "Words that mean a charge back"))
NONE = ("", "no column")
AT_OPENING = ("opening", "they were there when these books began")
DECIMALS = (("", "as the file shows"), (".", "point: 1,234.50"), (",", "comma: 1.234,50"))
ORDERS = (("", "as the file shows"), ("day", "day first: 31.12.2026"), ("month", "month first: 12/31/2026"))
RULE = ">"


class GiftFileForm(forms.Form):
    key = KeyField()
    source = LineField(
        "Where it comes from", 80, help_text="“The giving site”, “our bank”: its columns are remembered."
    )
    file = forms.FileField(label="File", help_text="Comma-separated or an XLSX workbook: heads, then a gift a line.")


class ColumnsForm(ChoosesFund):
    """What each column holds; the boxes come from the file's heads."""

    way = forms.ChoiceField(label="How these gifts come", choices=(*WAYS, AT_OPENING))
    decimal = forms.ChoiceField(label="Decimal mark", choices=DECIMALS, required=False)
    order = forms.ChoiceField(label="Dates of three numbers", choices=ORDERS, required=False)
    rules = forms.CharField(
        label="What the donor wrote decides the fund",
        required=False,
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 4, "spellcheck": "false"}),
        help_text="One to a line: the words, >, the fund. “wound > Wound fund”. The first that fits counts.",
    )

    def __init__(self, *args, heads: Sequence[str], funds: Sequence[tuple[int, str]], **kwargs) -> None:
        super().__init__(*args, funds=funds, **kwargs)
        self.fields["fund_id"].label = "Fund of a gift that names none"
        self.by_name = {name.casefold(): fund for fund, name in funds}
        choices = [NONE, *((head, head) for head in dict.fromkeys(heads) if head)]
        for meaning, words in ASKED:
            needed = meaning == "gross"
            self.fields[f"column_{meaning}"] = forms.ChoiceField(label=words, choices=choices, required=needed)
        for how, words in BACK:
            self.fields[f"words_{how}"] = LineField(
                words, 200, required=False, initial=", ".join(WENT_BACK[how]), help_text="In the column of the kind."
            )
        for name in ("decimal", "order", *(f"column_{meaning}" for meaning, _ in ASKED)):
            self.fields[name].one_of = True  # "no column" and "as the file shows" are answers

    @property
    def columns(self):
        return [self[f"column_{meaning}"] for meaning, _ in ASKED]

    @property
    def backs(self):
        return [self[f"words_{how}"] for how, _ in BACK]

    def clean_rules(self) -> list[tuple[str, int]]:
        found = []
        for line in filter(str.strip, self.cleaned_data["rules"].splitlines()):
            contains, _, name = (part.strip() for part in line.rpartition(RULE))
            fund = self.by_name.get(name.casefold())
            if not contains or fund is None:
                raise forms.ValidationError(f"“{line.strip()}” names no open fund. Write: words > name of the fund.")
            found.append((contains[:80], fund))
        return found

    @property
    def said(self) -> dict[str, object]:
        data = self.cleaned_data
        return {
            "columns": {meaning: data[f"column_{meaning}"] for meaning, _ in ASKED},
            "way": data["way"],
            "decimal": data["decimal"],
            "day_first": {"day": True, "month": False}.get(data["order"]),
            "fund_id": data["fund_id"],
            "rules": data["rules"],
            "back_words": {how: _words(data[f"words_{how}"]) for how, _ in BACK},
        }


def _words(line: str) -> list[str]:
    return [word.strip() for word in line.split(",") if word.strip()]


class LateForm(forms.Form):
    """Whether a row that waited is booked today, because its own day lies in a closed period."""

    late = forms.BooleanField(required=False, widget=forms.HiddenInput)
    sure = forms.CharField(widget=forms.HiddenInput, initial="yes")


class LeaveOutForm(forms.Form):
    why = LineField("Why it is left out", 300, help_text="It is kept with your name and today’s date.")
