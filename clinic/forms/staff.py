"""What a grade costs in a year, and how long a service takes whom."""

from collections.abc import Sequence
from decimal import Decimal

from django import forms

from clinic.models import Grade
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
    """One box for each grade."""

    def __init__(self, *args, grades: Sequence[Grade], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for grade in grades:
            self.fields[f"grade_{grade.pk}"] = QuantityField(grade.name, required=False, min_value=0, max_value=1440)

    def minutes(self) -> dict[int, Decimal | None]:
        return {int(name.removeprefix("grade_")): each for name, each in self.cleaned_data.items()}
