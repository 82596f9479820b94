"""Review points of a path, and what went wrong on it besides."""

from decimal import Decimal
from typing import Any

from django import forms

from clinic.forms.observations import FigureField
from clinic.models import CareItem, PathEvent, ReviewPoint, Service
from config.fields import AmountField, DayField, KeyField, LineField, QuantityField


class ReviewForm(forms.Form):
    key = KeyField()
    kind = forms.ChoiceField(label="A decision is due", choices=ReviewPoint.Kind.choices, widget=forms.RadioSelect)
    on = DayField("The day", required=False)
    operations = forms.IntegerField(
        label="After so many operations",
        min_value=1,
        max_value=20,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
        error_messages={"invalid": "Write a whole number, such as 2."},
    )
    limit_minor = AmountField(
        "Spending limit", required=False, help_text="What converting costs is held back inside it."
    )
    finding = forms.ChoiceField(label="The finding", choices=[("", "—"), *ReviewPoint.Finding.choices], required=False)
    pain_over = FigureField("Pain over", least="0", digits=4)
    pain_of = FigureField("Of how many", digits=4)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("on", "operations", "limit_minor", "finding", "pain_over", "pain_of"):
            self.fields[name].one_of = True

    @property
    def said(self) -> dict[str, Any]:
        """Return what belongs to the kind that was chosen; the other boxes are left."""
        said, kind = self.cleaned_data, self.cleaned_data["kind"]
        named = {
            ReviewPoint.Kind.DAY: ("on",),
            ReviewPoint.Kind.OPERATIONS: ("operations",),
            ReviewPoint.Kind.SPENDING: ("limit_minor",),
            ReviewPoint.Kind.FINDING: ("finding", "pain_over", "pain_of"),
        }[ReviewPoint.Kind(kind)]
        return {"key": said["key"], "kind": kind, **{name: said[name] for name in named}}


class EventForm(forms.Form):
    key = KeyField()
    kind = forms.ChoiceField(label="What happened", choices=PathEvent.Kind.choices, widget=forms.RadioSelect)
    on = DayField("On")
    words = LineField("In words", 200)
    service = forms.ModelChoiceField(
        Service.objects.exclude(kind=Service.Kind.BOARDING).filter(retired_on=None).order_by("kind", "name"),
        label="What its care took",
        required=False,
        empty_label="nothing beside the orders",
        help_text="Charged to this path, also when the path has ended.",
    )
    quantity = QuantityField("How many", initial=Decimal(1), required=False)
    late_source = forms.ChoiceField(
        label="Written late, from", choices=[("", "—"), *CareItem.Source.choices], required=False
    )

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        said["quantity"] = said.get("quantity") or Decimal(1)
        return said
