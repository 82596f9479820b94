"""Setting a price, and adding a service."""

from decimal import Decimal

from django import forms
from django.utils.text import slugify

from clinic.models import Price, Service
from config import figures
from config.fields import DayField, PriceField


class PriceForm(forms.Form):
    """The three figures; the cost typed or computed, what is asked typed or a share."""

    starts_on = DayField("From", help_text="Days that are signed off keep the price they were signed with.")
    cost_from = forms.ChoiceField(
        label="Where the cost comes from",
        choices=[
            (Price.CostFrom.TYPED, "It is typed"),
            (Price.CostFrom.COMPUTED, "It is computed each day from the minutes and the kit"),
        ],
        initial=Price.CostFrom.TYPED,
        widget=forms.RadioSelect,
    )
    cost = PriceField(
        "Cost", required=False, help_text="What it takes: supplies, time, room. Empty where it is computed."
    )
    donated = PriceField(
        "Of the cost, from donated goods",
        required=False,
        help_text="The funds are asked for less in its proportion. A kit with lots on the shelf goes by its lots.",
    )
    usual_fee = PriceField("Usual fee", help_text="What a client would pay.")
    asked_from = forms.ChoiceField(
        label="What the funds are asked for",
        choices=[
            (Price.AskedFrom.TYPED, "An amount"),
            (Price.AskedFrom.USUAL_FEE, "A share of the usual fee"),
            (Price.AskedFrom.COST, "A share of the cost"),
        ],
        initial=Price.AskedFrom.TYPED,
        widget=forms.RadioSelect,
    )
    asked = PriceField("Asked", required=False, help_text="At most the usual fee. Empty where it is a share.")
    asked_percent = forms.DecimalField(
        label="Percent",
        required=False,
        min_value=0,
        max_digits=6,
        decimal_places=3,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        help_text="Of the usual fee or the cost, such as 45. Empty where an amount is asked.",
    )


class SupplyPriceForm(forms.Form):
    starts_on = DayField("From", help_text="Days that are signed off keep the cost they were signed with.")
    cost = PriceField("Cost of one unit", help_text="As it is bought, to six digits: 0.085 for a swab.")


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
        quantity = figures.figure(words[0])
        if quantity is None or len(words) < 3:
            raise forms.ValidationError(f"“{' '.join(words)[:60]}” lacks its quantity, unit or name.")
        unit, name = words[1], words[2].strip()
        if not 0 < quantity < 1000 or quantity * 1000 % 1:
            raise forms.ValidationError(f"{words[0]} {unit[:20]} is no quantity. Write a number above 0, such as 0.5.")
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
