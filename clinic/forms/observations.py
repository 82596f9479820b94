"""How an animal is: what was seen, with its figures; every box may stay empty."""

from decimal import Decimal
from typing import Any

from django import forms

from clinic.forms.observed import WoundSaid
from clinic.models import WoundReading
from config.fields import DECIMAL_BOX, DayField, KeyField

Method = WoundReading.Method
WEIGHED = [("without bandage", "without bandage"), ("with bandage", "with bandage")]
APPETITE = {2: "eats all of it", 1: "eats some of it", 0: "eats nothing"}


class FigureField(forms.DecimalField):
    """A measured figure: no money, a few digits, one decimal."""

    def __init__(self, label: str, *, least: str = "0.1", digits: int = 6, places: int = 1, **kwargs: Any) -> None:
        above = "above zero" if Decimal(least) > 0 else "zero or more"
        super().__init__(
            label=label,
            required=False,
            min_value=Decimal(least),
            max_digits=digits,
            decimal_places=places,
            widget=forms.TextInput(attrs=DECIMAL_BOX),
            error_messages={
                "invalid": "Write a number, such as 61 or 61.5.",
                "min_value": f"Write a number {above}.",
                "max_digits": "That is more than can be measured here.",
                "max_whole_digits": "That is more than can be measured here.",
                "max_decimal_places": f"Write at most {places} digit{'' if places == 1 else 's'} behind the point.",
            },
            **kwargs,
        )


def _words(label: str, hint: str = "") -> forms.CharField:
    return forms.CharField(label=label, max_length=200, required=False, help_text=hint)


class ObserveForm(forms.Form):
    key = KeyField()
    on = DayField("Seen on")
    comfort = _words("Comfort", "“comfortable, sleeps through”")
    pain = FigureField("Pain score", least="0", digits=4)
    pain_of = FigureField("Of how many", digits=4, help_text="The highest score of the scale, such as 10 or 24.")
    appetite = forms.ChoiceField(
        label="Appetite",
        choices=[("", "not seen"), *((str(code), words) for code, words in APPETITE.items())],
        required=False,
    )
    weight = FigureField("Weight, kg", least="0.001", digits=7, places=3)
    weighed = forms.ChoiceField(label="Weighed", choices=WEIGHED, required=False)
    limb_use = _words("Use of the limb", "“puts the leg down when she stands”")
    wound = forms.CharField(
        label="Which wound", max_length=60, required=False, help_text="One name, one series, one method throughout."
    )
    method = forms.ChoiceField(label="Read by", choices=Method.choices, required=False)
    length_mm = FigureField("Length, mm")
    width_mm = FigureField("Width, mm")
    area_mm2 = FigureField("Traced area, mm²", digits=9)
    perimeter_mm = FigureField("Its outline, mm", digits=7, help_text="Without it no advance of the edge is told.")
    note = forms.CharField(label="In words", max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        axes, area = [said.get("length_mm"), said.get("width_mm")], said.get("area_mm2")
        if any(axes) or area or said.get("perimeter_mm"):
            self._wound(said, axes, area)
        return said

    def _wound(self, said: dict[str, Any], axes: list[Decimal | None], area: Decimal | None) -> None:
        if not said.get("wound"):
            self.add_error("wound", "Name the wound, such as “left hock”.")
        traced = said.get("method") == Method.TRACED
        if traced and (any(axes) or not area):
            self.add_error("area_mm2", "A traced wound has its area, and no length and width beside it.")
        if not traced and (area or said.get("perimeter_mm") or not all(axes)):
            self.add_error("length_mm", "Length by width has both figures, and no traced area beside them.")

    @property
    def said(self) -> dict[str, Any]:
        """Return what was seen, ready for its action."""
        said = dict(self.cleaned_data)
        figures = {name: said.pop(name) for name in ("length_mm", "width_mm", "area_mm2", "perimeter_mm")}
        wound, method = said.pop("wound"), said.pop("method") or Method.AXES
        code = said.pop("appetite")
        return {
            **said,
            "appetite": (int(code), APPETITE[int(code)]) if code else None,
            "wound": WoundSaid(wound=wound, method=method, **figures) if any(figures.values()) else None,
        }


class TakeBackForm(forms.Form):
    """A reading is taken back whole; there is nothing to write."""
