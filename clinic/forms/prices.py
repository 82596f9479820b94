"""Setting a price, and adding a service."""

from django import forms

from clinic.forms.fields import DayField, PriceField
from clinic.models import Service


class PriceForm(forms.Form):
    starts_on = DayField("From", help_text="Days that are signed off keep the price they were signed with.")
    cost = PriceField("Cost", help_text="What it takes: supplies, time, room.")
    usual_fee = PriceField("Usual fee", help_text="What a client would pay.")
    asked = PriceField("Asked", help_text="What the funds are asked for: at most the usual fee.")


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
