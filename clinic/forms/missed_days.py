"""Late entries of several days at once: each day says where it is known from and who gave it (B7)."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django import forms

from clinic.models import CareItem
from clinic.queries.missed_days import MissedDays

NOT_KNOWN = "not known"


class MissedDaysForm(forms.Form):
    """The boxes that were ticked; a day on which one was says its source and its giver."""

    def __init__(self, *args: Any, missed: MissedDays, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.missed = missed
        choices = [(box.value, box.round) for box in missed.boxes]
        self.fields["given"] = forms.MultipleChoiceField(
            choices=choices,
            required=False,
            error_messages={"invalid_choice": "Somebody has written some of it down meanwhile. Read the page anew."},
        )
        for day in missed.days:
            self.fields[f"source-{day}"] = forms.ChoiceField(
                label="Known from", choices=[("", ""), *CareItem.Source.choices], required=False
            )
            self.fields[f"giver-{day}"] = forms.CharField(
                label="Given by", max_length=120, required=False, help_text="“Not known” is an answer."
            )
            self.fields[f"source-{day}"].wanted = self.fields[f"giver-{day}"].wanted = True  # type: ignore[attr-defined]

    @property
    def of_days(self) -> Sequence[tuple[date, Any, Any]]:
        return [(day, self[f"source-{day}"], self[f"giver-{day}"]) for day in self.missed.days]

    @property
    def ticked(self) -> frozenset[str]:
        return frozenset(self.data.getlist("given")) if self.is_bound else frozenset()

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        ticked = set(said.get("given") or ())
        if not ticked and not self.errors:
            self.add_error(None, "Nothing is ticked, so nothing was written. Tick what was given.")
        for day in {box.on for box in self.missed.boxes if box.value in ticked}:
            if not said.get(f"source-{day}"):
                self.add_error(f"source-{day}", "Say where this day is known from: paper, memory, or told.")
            if not said.get(f"giver-{day}"):
                self.add_error(f"giver-{day}", "Write who gave it; “not known” is an answer.")
        return said
