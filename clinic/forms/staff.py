"""What a grade costs in a year, and how long a service takes whom."""

from collections.abc import Sequence
from decimal import Decimal

from django import forms

from clinic.models import Grade
from config import figures
from config.fields import DayField, LineField, PriceField, QuantityField


class GradeCostForm(forms.Form):
    starts_on = DayField("From", help_text="Earlier days keep what an hour cost then.")
    people = QuantityField("Posts", help_text="Full posts of this grade: 2.5 are two and a half.")
    yearly_cost = PriceField("Cost of one post in a year", help_text="Pay and all that comes with it.")
    days = QuantityField("Working days in a year", help_text="Without weekends, leave and sick days.")
    hours_a_day = QuantityField("Hours a day")
    break_minutes_a_day = forms.IntegerField(
        label="Minutes of breaks a day",
        min_value=0,
        max_value=1440,
        initial=0,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
        help_text="Breaks, hand-over, training: at work, and not at an animal.",
    )


class GradeForm(GradeCostForm):
    name = LineField("Grade", 60, help_text="What an hour costs: veterinarian, nurse, kennel hand.")
    field_order = ("name",)


class MinutesForm(forms.Form):
    """One box for each grade; then what comes on top, and the theater."""

    extras = forms.CharField(
        label="What comes on top",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 4, "spellcheck": "false"}),
        help_text="One to a line: the words, a colon, minutes and grade. “per further plate: 25 Veterinarian”.",
    )
    room_minutes = forms.IntegerField(
        label="Minutes of the theater",
        required=False,
        min_value=0,
        max_value=1440,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
        help_text="From the first hand to the cleaned room. It counts in the full cost, and is never charged.",
    )

    def __init__(self, *args, grades: Sequence[Grade], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self._grades = {grade.name.casefold(): grade.pk for grade in grades}
        for grade in grades:
            self.fields[f"grade_{grade.pk}"] = QuantityField(grade.name, required=False, min_value=0, max_value=1440)
        self.order_fields([f"grade_{grade.pk}" for grade in grades])

    @property
    def has_grades(self) -> bool:
        return bool(self._grades)

    def clean_room_minutes(self) -> int:
        return self.cleaned_data["room_minutes"] or 0

    def clean_extras(self) -> list[tuple[str, int, Decimal]]:
        return [self._extra(line) for line in self.cleaned_data["extras"].splitlines() if line.strip()]

    def _extra(self, line: str) -> tuple[str, int, Decimal]:
        words, _, rest = line.rpartition(":")
        number, _, name = rest.strip().partition(" ")
        minutes = figures.figure(number) or Decimal(0)
        if not words.strip() or not 0 < minutes <= 1440 or minutes * 100 % 1:
            raise forms.ValidationError(f"“{line.strip()[:60]}” lacks its words, a colon or its minutes.")
        if name.strip().casefold() not in self._grades:
            raise forms.ValidationError(f"There is no grade “{name.strip()[:60]}”. Add it first, or write another.")
        return words.strip()[:60], self._grades[name.strip().casefold()], minutes

    def minutes(self) -> dict[int, Decimal | None]:
        said = self.cleaned_data.items()
        return {int(name.removeprefix("grade_")): each for name, each in said if name.startswith("grade_")}
