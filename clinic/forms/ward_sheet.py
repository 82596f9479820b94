"""What the ward sends: ticks, minutes, notes and late entries."""

from decimal import Decimal
from typing import Any

from django import forms

from clinic.forms.observations import APPETITE, WEIGHED, FigureField
from clinic.models import Animal, CareItem, Observation, Order, Service
from config.fields import KeyField, QuantityField

NOT_HERE = {
    "invalid_choice": "This animal is not on the sheet any more. Read the sheet anew.",
    "required": "Whose is it?",
}
# What can be told in words alone; pain, weight and a wound have figures of their own.
SEEN = [
    choice
    for choice in Observation.Kind.choices
    if choice[0] not in {Observation.Kind.PAIN, Observation.Kind.WEIGHT, Observation.Kind.WOUND}
]


class AnimalField(forms.ModelChoiceField):
    def __init__(self, **kwargs) -> None:
        super().__init__(Animal.objects.all(), label="Animal", error_messages=NOT_HERE, **kwargs)


class LateForm(forms.Form):
    """Where a late entry comes from; empty on the present day's sheet."""

    late_source = forms.ChoiceField(label="From", choices=[("", "—"), *CareItem.Source.choices], required=False)
    given_by = forms.CharField(label="Given by", max_length=120, required=False, help_text="“Not known” is an answer.")


# Every tap reads its order: no more than the tap needs.
OF_A_TAP = ("animal__name", "animal__number", "animal__group", "service__name", "service__kind", "for_group")


class TickForm(LateForm):
    key = KeyField()
    order = forms.ModelChoiceField(Order.objects.select_related("animal", "service").only(*OF_A_TAP))
    round = forms.ChoiceField(choices=Order.Round.choices, required=False)


class AgainForm(LateForm):
    """One more of what is ordered, beyond the order."""

    again = KeyField()
    order = forms.ModelChoiceField(Order.objects.select_related("animal", "service").only(*OF_A_TAP))


class WriteForm(LateForm):
    """One more thing given, beside the orders."""

    key = KeyField()
    animal = AnimalField()
    service = forms.ModelChoiceField(Service.objects.order_by("kind", "name"), label="What was given")
    quantity = QuantityField("How many", initial=Decimal(1))
    given_free = forms.BooleanField(label="Time given free", required=False)
    for_all = forms.BooleanField(label="For all of its group together", required=False)


class NoteForm(forms.Form):
    """Something seen, in words; or how it eats, which is told by a tap."""

    key = KeyField()
    animal = AnimalField()
    kind = forms.ChoiceField(choices=SEEN, initial=Observation.Kind.NOTE, required=False)
    words = forms.CharField(
        label="Note for today", widget=forms.Textarea(attrs={"rows": 1}), max_length=2000, required=False
    )
    appetite = forms.ChoiceField(choices=[(str(code), words) for code, words in APPETITE.items()], required=False)

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if not said.get("words") and not said.get("appetite"):
            self.add_error("words", "Write what was seen, or tap how it eats.")
        return said

    @property
    def seen(self) -> dict[str, Any]:
        """Return kind, words and figure, ready for the action."""
        said = self.cleaned_data
        if code := said["appetite"]:
            return {"kind": Observation.Kind.APPETITE, "words": APPETITE[int(code)], "value": Decimal(code)}
        return {"kind": said["kind"] or Observation.Kind.NOTE, "words": said["words"]}


class MeasuredForm(forms.Form):
    """Pain with its scale, and weight; either may stay empty."""

    key = KeyField()
    animal = AnimalField()
    pain = FigureField("Pain score", least="0", digits=4)
    pain_of = FigureField("Of how many", digits=4)
    weight = FigureField("Weight, kg", least="0.001", digits=7, places=3)
    weighed = forms.ChoiceField(label="Weighed", choices=WEIGHED, required=False)


class UndoForm(forms.Form):
    item = forms.ModelChoiceField(CareItem.objects.select_related("animal"))


class AsOrderedForm(forms.Form):
    """One animal, or nobody named for all of them."""

    animal = AnimalField(required=False)


class SeenForm(forms.Form):
    """The evening asks one thing; there is nothing to write."""
