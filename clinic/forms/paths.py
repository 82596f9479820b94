"""Planning a treatment path, deciding on it, and recording what an operation came to."""

from decimal import Decimal
from typing import Any

from django import forms

from clinic.forms.path_steps import OperationSaid, SingleSaid, StepSaid
from clinic.models import BoardingLevel, PathDecision, PathStep, Service, TreatmentPath, User
from config.fields import DayField, KeyField, LineField, PriceField
from config.roles import Role

OPERATIONS = 6
Choice, Part = PathDecision.Choice, PathStep.Part
DECIDED = {
    Choice.STAGED: "Choose the staged path",
    Choice.CONTINUE: "Go on with the staged path",
    Choice.CONVERT: "Convert to the single procedure",
    Choice.END: "End treatment: comfort care, or leaving it as it is",
}
TYPED = "Only where it is not the price list's."


class InHundredField(forms.DecimalField):
    """A chance as people say it: 60 in 100."""

    def __init__(self, label: str, **kwargs: Any) -> None:
        super().__init__(
            label=label,
            min_value=0,
            max_value=100,
            max_digits=10,
            decimal_places=7,
            widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
            error_messages={
                "invalid": "Write a number from 0 to 100, such as 60.",
                "min_value": "A chance lies between 0 and 100 in 100.",
                "max_value": "A chance lies between 0 and 100 in 100.",
                "max_digits": "Write a number from 0 to 100, such as 60.",
                "max_whole_digits": "A chance lies between 0 and 100 in 100.",
                "max_decimal_places": "Write at most seven digits behind the point.",
                "required": "Write the chance.",
            },
            **kwargs,
        )

    def clean(self, value: Any) -> Decimal | None:
        in_100 = super().clean(value)
        return None if in_100 is None else in_100 / 100


class PersonField(forms.ModelChoiceField):
    def label_from_instance(self, person: User) -> str:
        return person.name


class DaysField(forms.IntegerField):
    def __init__(self, label: str, **kwargs: Any) -> None:
        super().__init__(
            label=label,
            min_value=0,
            max_value=1000,
            widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
            error_messages={
                "invalid": "Write whole days, such as 21.",
                "min_value": "Days are zero or more.",
                "max_value": "That is more days than a plan can have here.",
                "required": "Write the days; 0 is one answer.",
            },
            **kwargs,
        )


def _procedures(label: str, **kwargs: Any) -> forms.ModelChoiceField:
    found = Service.objects.filter(kind=Service.Kind.PROCEDURE).order_by("name")
    return forms.ModelChoiceField(found, label=label, **kwargs)


def _levels(label: str) -> forms.ModelChoiceField:
    return forms.ModelChoiceField(
        BoardingLevel.objects.order_by("position"), label=label, required=False, empty_label="none"
    )


def _dressings(label: str) -> forms.ModelChoiceField:
    found = Service.objects.filter(kind=Service.Kind.DRESSING).order_by("name")
    return forms.ModelChoiceField(found, label=label, required=False, empty_label="none")


class OperationForm(forms.Form):
    """One row of the plan; an empty row is no operation."""

    service = _procedures(
        "Procedure", required=False, empty_label="—", error_messages={"required": "Choose the first operation."}
    )
    chance = InHundredField("Chance to heal, in 100", required=False)
    chance_source = forms.ChoiceField(
        label="Where the chance comes from",
        choices=[("", "—"), *PathStep.Source.choices],
        required=False,
        error_messages={"required": "Say where the chance comes from."},
    )
    chance_n = forms.IntegerField(
        label="From how many cases",
        min_value=1,
        max_value=1_000_000,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
    chance_words = forms.CharField(label="Whose figure, which series", max_length=120, required=False)
    chance_low = InHundredField("At least, in 100", required=False)
    chance_high = InHundredField("At most, in 100", required=False)
    days_low = DaysField("At least", required=False)
    days_high = DaysField("At most", required=False)
    days = DaysField("Days until its result is known", required=False)
    level = _levels("Boarding level")
    daily_service = _dressings("Dressing each day")
    typed_cost = PriceField("Its price", required=False, help_text=TYPED)

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if said.get("service") and said.get("chance") is None and "chance" not in self.errors:
            self.add_error("chance", "Write the chance; a plan never has one by default.")
        if said.get("service") and not said.get("chance_source"):
            self.add_error("chance_source", "Say where the chance comes from.")
        return said

    @property
    def said(self) -> OperationSaid | None:
        said = self.cleaned_data
        if not said.get("service"):
            return None
        return OperationSaid(**{**said, "days": said["days"] or 0})


class OperationRows(forms.BaseFormSet):
    def add_fields(self, form: forms.Form, index: int | None) -> None:
        super().add_fields(form, index)
        for name in ("service", "chance", "chance_source") if index == 0 else ():
            form.fields[name].required = True


OperationForms = forms.formset_factory(
    OperationForm, formset=OperationRows, extra=OPERATIONS, max_num=OPERATIONS, absolute_max=OPERATIONS
)


class PlanForm(forms.Form):
    key = KeyField()
    name = forms.CharField(label="The staged path, in words", max_length=80, help_text="“The left hock, in stages.”")
    keeps = forms.CharField(
        label="What it may keep", max_length=40, initial="the leg", help_text="“the leg”, “the eye”"
    )
    after_days = DaysField("Days in the ward after it has healed", required=False)
    after_level = _levels("Boarding level then")
    after_dressing = _dressings("Dressing each day then")
    single = _procedures("Single procedure", empty_label=None)
    single_days = DaysField("Days in the ward after it", required=False)
    single_level = _levels("Boarding level after it")
    single_dressing = _dressings("Dressing each day after it")
    single_cost = PriceField("Its price", required=False, help_text=TYPED)
    complication_chance = InHundredField("Complicated, in 100", required=False)
    complication_cost = PriceField("What a complication costs", required=False)

    def add_rows(self, rows: forms.BaseFormSet) -> None:
        """Tell in this form's summary what is wrong in a row."""
        for number, row in enumerate(rows.forms, start=1):
            for name, errors in row.errors.items():
                label = row.fields[name].label if name in row.fields else ""
                self.add_error(None, f"Operation {number}, {label}: {errors[0]}")

    def steps(self) -> dict[str, StepSaid]:
        """Return what follows success, the fallback (the single procedure without its complication), and the single."""
        said = self.cleaned_data
        single = {
            "service": said["single"],
            "typed_cost": said["single_cost"],
            "days": said["single_days"] or 0,
            "level": said["single_level"],
            "daily_service": said["single_dressing"],
        }
        return {
            "after_success": StepSaid(
                days=said["after_days"] or 0, level=said["after_level"], daily_service=said["after_dressing"]
            ),
            "fallback": StepSaid(**single),
            "single": SingleSaid(
                **single,
                complication_chance=said["complication_chance"] or Decimal(0),
                complication_cost=said["complication_cost"] or Decimal(0),
            ),
        }


def said_before(*, path: TreatmentPath) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """Return what the plan as it stands says, for the form that changes it: the operations without a result yet."""
    steps = list(path.steps.order_by("position"))
    rows = [_row_said(step) for step in steps if step.part == Part.OPERATION and not step.result]
    after = next(step for step in steps if step.part == Part.AFTER_SUCCESS)
    single = next(step for step in steps if step.part == Part.SINGLE)
    plan = {
        "name": path.name,
        "keeps": path.keeps,
        "after_days": after.days,
        "after_level": after.level_id,
        "after_dressing": after.daily_service_id,
        "single": single.service_id,
        "single_days": single.days,
        "single_level": single.level_id,
        "single_dressing": single.daily_service_id,
        "single_cost": _typed(single.typed_cost),
        "complication_chance": _plain(single.complication_chance * 100),
        "complication_cost": _plain(single.complication_cost.amount),
    }
    return plan, rows


def _row_said(step: PathStep) -> dict[str, Any]:
    return {
        "service": step.service_id,
        "chance": _plain((step.chance or 0) * 100),
        "chance_source": step.chance_source,
        "chance_n": step.chance_n,
        "chance_words": step.chance_words,
        "chance_low": None if step.chance_low is None else _plain(step.chance_low * 100),
        "chance_high": None if step.chance_high is None else _plain(step.chance_high * 100),
        "days_low": step.days_low,
        "days_high": step.days_high,
        "days": step.days,
        "level": step.level_id,
        "daily_service": step.daily_service_id,
        "typed_cost": _typed(step.typed_cost),
    }


def _typed(cost: Any) -> str | None:
    return None if cost is None else _plain(cost.amount)


def _plain(number: Decimal | int) -> str:
    return f"{Decimal(number).normalize():f}"


class DecideForm(forms.Form):
    """What may be decided depends on where the path stands."""

    key = KeyField()
    choice = forms.ChoiceField(label="What is decided", choices=Choice.choices, widget=forms.RadioSelect)
    why = forms.CharField(
        label="Why",
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Welfare, pain and prognosis first. Kept with the figures as they stand.",
    )
    on = DayField("Decided on")
    vet = PersonField(User.objects.none(), label="For care, the vet", empty_label=None)
    manager = PersonField(
        User.objects.none(), label="For the money, the manager", required=False, empty_label="not yet"
    )

    def __init__(self, *args: Any, is_chosen: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        staged = Choice.STAGED
        self.fields["choice"].choices = [
            (choice, words) for choice, words in DECIDED.items() if (choice == staged) != is_chosen
        ]
        active = User.objects.filter(is_active=True).order_by("name")
        self.fields["vet"].queryset = active.filter(roles_held__role=Role.VET)
        self.fields["manager"].queryset = active.filter(roles_held__role=Role.MANAGER)


class ResultForm(forms.Form):
    result = forms.ChoiceField(label="What it came to", choices=PathStep.Result.choices, widget=forms.RadioSelect)
    on = DayField("Known on")
    complication = forms.CharField(
        label="Complication", max_length=200, required=False, help_text="A fact of its own, whether it healed or not."
    )


class EndForm(forms.Form):
    ending = forms.ChoiceField(
        label="How it ended",
        choices=[choice for choice in TreatmentPath.Ending.choices if choice[0] != TreatmentPath.Ending.REPLACED],
        widget=forms.RadioSelect,
    )
    on = DayField("On")


class LiftForm(forms.Form):
    """General money pays beyond the single procedure, by name and with a reason (D3)."""

    why = LineField("Why", 300, help_text="Kept with your name.")
