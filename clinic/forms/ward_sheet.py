"""What the ward sends: ticks, minutes, notes and late entries."""

import uuid
from decimal import Decimal

from django import forms

from clinic.models import CareItem, Observation, Order, Service


class LateForm(forms.Form):
    """Where a late entry comes from; empty on the present day's sheet."""

    late_source = forms.ChoiceField(label="From", choices=[("", "—"), *CareItem.Source.choices], required=False)
    given_by = forms.CharField(label="Given by", max_length=120, required=False, help_text="“Not known” is an answer.")


class TickForm(LateForm):
    key = forms.UUIDField(widget=forms.HiddenInput)
    order = forms.ModelChoiceField(Order.objects.select_related("animal", "service"))
    round = forms.CharField(max_length=8, required=False)


class WriteForm(LateForm):
    """One more thing given, beside the orders."""

    key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4)
    animal = forms.IntegerField(widget=forms.HiddenInput)
    service = forms.ModelChoiceField(
        Service.objects.exclude(kind=Service.Kind.BOARDING).order_by("kind", "name"), label="What was given"
    )
    quantity = forms.DecimalField(
        label="How many",
        max_digits=9,
        decimal_places=3,
        initial=Decimal(1),
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        error_messages={
            "invalid": "Write a number, such as 1 or 2.5.",
            "max_digits": "That is too many digits. Write a number up to 1,440.",
            "max_whole_digits": "That is too large. Write a number up to 1,440.",
        },
    )
    given_free = forms.BooleanField(label="Time given free", required=False)


class NoteForm(forms.Form):
    key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4)
    animal = forms.IntegerField(widget=forms.HiddenInput)
    kind = forms.ChoiceField(choices=Observation.Kind.choices, initial=Observation.Kind.NOTE)
    words = forms.CharField(label="Note for today", widget=forms.Textarea(attrs={"rows": 1}), max_length=2000)


class UndoForm(forms.Form):
    item = forms.ModelChoiceField(CareItem.objects.all())


class AsOrderedForm(forms.Form):
    animal = forms.IntegerField(required=False)
