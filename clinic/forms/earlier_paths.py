"""A path from before the house opened: the animal, its operations with their results, and its end."""

from __future__ import annotations

from typing import Any

from django import forms

from clinic.forms.path_steps import EarlierOperation
from clinic.models import PathStep, Service, TreatmentPath
from config.fields import DayField, KeyField, LineField

OPERATIONS = 4


class EarlierOperationForm(forms.Form):
    """One row; an empty row is no operation."""

    service = forms.ModelChoiceField(
        Service.objects.filter(kind=Service.Kind.PROCEDURE).order_by("name"),
        label="Procedure",
        required=False,
        empty_label="—",
    )
    done_on = DayField("Result known on", required=False)
    result = forms.ChoiceField(label="What it came to", choices=[("", "—"), *PathStep.Result.choices], required=False)
    complication = forms.CharField(label="Complication", max_length=200, required=False)

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if said.get("service") and not (said.get("done_on") and said.get("result")):
            self.add_error("result", "An operation has its day and what it came to.")
        return said

    @property
    def said(self) -> EarlierOperation | None:
        return EarlierOperation(**self.cleaned_data) if self.cleaned_data.get("service") else None


EarlierOperationForms = forms.formset_factory(
    EarlierOperationForm, extra=OPERATIONS, max_num=OPERATIONS, absolute_max=OPERATIONS
)


class EarlierPathForm(forms.Form):
    key = KeyField()
    animal = LineField("The animal’s name", 80)
    species = LineField("Species", 40)
    name = LineField("The path, in words", 80, help_text="“The left hock, in stages.”")
    parted_on = DayField("Chosen on")
    ended_on = DayField("Ended on")
    ending = forms.ChoiceField(
        label="How it ended",
        choices=[choice for choice in TreatmentPath.Ending.choices if choice[0] != TreatmentPath.Ending.REPLACED],
    )

    def clean_species(self) -> str:
        return self.cleaned_data["species"].strip().lower()

    def add_rows(self, rows: forms.BaseFormSet) -> None:
        """Tell in this form's summary what is wrong in a row."""
        for number, row in enumerate(rows.forms, start=1):
            for errors in row.errors.values():
                self.add_error(None, f"Operation {number}: {errors[0]}")
