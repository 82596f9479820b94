"""Setting a price, and adding a service."""

from decimal import Decimal, InvalidOperation

from django import forms
from django.utils.text import slugify

from clinic.models import Service
from config.fields import DayField, PriceField


class PriceForm(forms.Form):
    starts_on = DayField("From", help_text="Days that are signed off keep the price they were signed with.")
    cost = PriceField("Cost", help_text="What it takes: supplies, time, room.")
    donated = PriceField(
        "Of the cost, from donated goods", required=False, help_text="The funds are asked for less in its proportion."
    )
    usual_fee = PriceField("Usual fee", help_text="What a client would pay.")
    asked = PriceField("Asked", help_text="What the funds are asked for: at most the usual fee.")


class KitForm(forms.Form):
    """The supplies that go together in a service, one to a line: quantity, unit, name."""

    supplies = forms.CharField(
        label="Supplies",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false"}),
        help_text="One to a line: how many, the unit, the name. “0.5 roll Padding bandage”.",
    )

    def clean_supplies(self) -> list[tuple[str, str, str, Decimal]]:
        lines = [line.split(maxsplit=2) for line in self.cleaned_data["supplies"].splitlines() if line.strip()]
        return [self._supply(words) for words in lines]

    def _supply(self, words: list[str]) -> tuple[str, str, str, Decimal]:
        try:
            quantity, unit, name = Decimal(words[0]), words[1], words[2].strip()
        except (InvalidOperation, IndexError):
            raise forms.ValidationError(f"“{' '.join(words)}” lacks its quantity, unit or name.") from None
        if not 0 < quantity < 1000 or quantity * 1000 % 1:
            raise forms.ValidationError(f"{words[0]} {unit} is no quantity. Write a number above 0, such as 0.5.")
        return slugify(name)[:40], name[:80], unit[:20], quantity


class ServiceForm(forms.Form):
    name = forms.CharField(label="Name", max_length=80)
    code = forms.SlugField(label="Code", max_length=40, help_text="Small letters and hyphens, such as padded-dressing.")
    kind = forms.ChoiceField(
        label="Kind of care", choices=[choice for choice in Service.Kind.choices if choice[0] != Service.Kind.BOARDING]
    )
    unit = forms.CharField(label="Unit", max_length=20, initial="each", help_text="dressing, tablet, minute, operation")
    standard_minutes = forms.IntegerField(
        label="Standard minutes",
        min_value=0,
        max_value=1440,
        initial=0,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
