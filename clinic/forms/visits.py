"""What an animal got that came for a visit."""

from decimal import Decimal

from django import forms

from clinic.models import CareItem, Service
from config.fields import DayField, KeyField, QuantityField


class VisitForm(forms.Form):
    key = KeyField()
    on = DayField("On")
    service = forms.ModelChoiceField(
        Service.objects.exclude(kind__in=[Service.Kind.BOARDING, Service.Kind.PROCEDURE]).order_by("kind", "name"),
        label="What was done",
        error_messages={"required": "Choose what was done; a recheck is one."},
    )
    quantity = QuantityField("How many", initial=Decimal(1))
    words = forms.CharField(
        label="What was seen", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2})
    )
    late_source = forms.ChoiceField(
        label="Late entry, from", required=False, choices=[("", "it is today’s"), *CareItem.Source.choices]
    )
