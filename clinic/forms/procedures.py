"""What a procedure took on its day: minutes by grade, of them those given free, what came on top, supplies, theater."""

from decimal import Decimal
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from clinic.queries.procedure_template import ProcedureTemplate
from config.fields import QuantityField


class TookForm(forms.Form):
    """The boxes of one service's template, filled in as planned."""

    room_minutes = forms.IntegerField(
        label="The theater, minutes",
        required=False,
        min_value=0,
        max_value=1440,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )

    def __init__(self, *args, template: ProcedureTemplate, **kwargs) -> None:
        super().__init__(*args, prefix="took", initial={"room_minutes": template.room_minutes}, **kwargs)
        self.template = template
        for grade in template.grades:
            self._box(f"grade_{grade.grade_id}", f"{grade.name}, minutes", grade.minutes)
            self._box(f"free_{grade.grade_id}", f"{grade.name}, of them given free", Decimal(0))
        for number, extra in enumerate(template.extras):
            words = f"{extra.words[:1].upper()}{extra.words[1:]}"
            self._box(f"extra_{number}", f"{words}: how often", Decimal(0), extra.detail)
        for supply in template.supplies:
            self._box(f"supply_{supply.supply_id}", f"{supply.name}, {supply.unit}", supply.quantity)
        self.order_fields([name for name in self.fields if name != "room_minutes"])

    @property
    def by_grade(self) -> list[tuple[BoundField, BoundField]]:
        """Minutes and what of them was given free, side by side."""
        return [(self[f"grade_{one.grade_id}"], self[f"free_{one.grade_id}"]) for one in self.template.grades]

    @property
    def others(self) -> list[BoundField]:
        return [self[name] for name in self.fields if not name.startswith(("grade_", "free_"))]

    def _box(self, name: str, label: str, planned: Decimal, hint: str = "") -> None:
        self.fields[name] = QuantityField(label, required=False, min_value=0, max_value=1440, help_text=hint)
        self.initial[name] = f"{planned.normalize():f}"

    def took(self) -> dict[str, dict[Any, Decimal]]:
        """Return what was taken, as `clinic.actions.procedures.Took` has it."""
        return {
            "minutes": self._of("grade_"),
            "free": {grade: free for grade, free in self._of("free_").items() if free},
            "times": {self.template.extras[number].words: times for number, times in self._of("extra_").items()},
            "supplies": self._of("supply_"),
        }

    def _of(self, start: str) -> dict[int, Decimal]:
        said = self.cleaned_data.items()
        return {int(name.removeprefix(start)): each or Decimal(0) for name, each in said if name.startswith(start)}
