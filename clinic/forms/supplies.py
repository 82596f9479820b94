"""Supplies: a new one, its packs, a lot that arrived, a count, and a lot that was typed wrong."""

from collections.abc import Sequence
from decimal import Decimal

from django import forms

from config import figures
from config.fields import AmountField, DayField, KeyField, LineField, QuantityField


class SupplyForm(forms.Form):
    name = LineField("Name", 80, help_text="As it stands on the shelf: Padding bandage, 10 cm.")
    unit = LineField("Counted in", 20, help_text="The smallest thing that is used: roll, piece, tablet, ml.")


class PacksForm(forms.Form):
    """The packs in which a supply arrives, one to a line."""

    packs = forms.CharField(
        label="Packs",
        required=False,
        max_length=600,
        widget=forms.Textarea(attrs={"rows": 4, "spellcheck": "false"}),
        help_text="One to a line: the pack and how many it holds. “box 12”.",
    )

    def clean_packs(self) -> dict[str, Decimal]:
        packs: dict[str, Decimal] = {}
        for line in self.cleaned_data["packs"].splitlines():
            name, _, holds = line.strip().rpartition(" ")
            if not line.strip():
                continue
            count = figures.figure(holds)
            if count is None:
                raise forms.ValidationError(f"“{line.strip()[:60]}” does not end with how many it holds.")
            if not name or abs(count) > 100_000 or count * 1000 % 1:
                raise forms.ValidationError(f"“{line.strip()[:60]}” lacks the pack’s name, or a number such as 12.")
            packs[name.strip()[:20]] = count
        return packs


class ArrivesForm(forms.Form):
    """What every lot has; the unit is the supply's own, or one of its packs."""

    key = KeyField()
    quantity = QuantityField("How many")
    unit = forms.ChoiceField(label="Of what")
    arrived_on = DayField("Arrived on", help_text="It is used for care from that day on.")
    number = LineField("Lot number", 40, required=False)
    expires_on = DayField("Expires on", required=False)

    def __init__(self, *args, units: Sequence[tuple[str, str]], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["unit"].choices = units


class LotForm(ArrivesForm):
    cost_minor = AmountField("Cost of all of it", help_text="What the invoice says, freight and tax with it.")
    words = LineField("From whom", 120, required=False)
    field_order = ("key", "quantity", "unit", "cost_minor", "arrived_on", "number", "expires_on", "words")


class GivenLotForm(ArrivesForm):
    fair_value_minor = AmountField("Fair value of all of it", help_text="What the house would have paid for it.")
    donor_id = forms.TypedChoiceField(
        label="Donor",
        required=False,
        coerce=int,
        empty_value=None,
        help_text="Who gave last stands here. Somebody else: add them under Donors first.",
    )
    field_order = ("key", "donor_id", "quantity", "unit", "fair_value_minor", "arrived_on", "number", "expires_on")

    def __init__(self, *args, donors: Sequence[tuple[int, str]], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["donor_id"].choices = [("", "somebody unknown"), *donors]


class CountForm(forms.Form):
    key = KeyField()
    found = QuantityField("Found on the shelf", help_text="All that is there, in open packs too; 0 is an answer.")
    why = LineField(
        "Why, if it differs", 200, required=False, help_text="Broken, expired, not written down, not known."
    )


class TakeBackForm(forms.Form):
    why = LineField("What was wrong", 200)
