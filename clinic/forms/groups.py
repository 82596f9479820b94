"""Groups: putting animals together, admitting young born here."""

from django import forms

from clinic.models import Animal, BoardingLevel
from config.fields import DayField, KeyField, LineField

MOST_YOUNG, NAME = 20, 80


class GroupForm(forms.Form):
    """Which animals in care are cared for as one with this one."""

    key = KeyField()
    name = LineField("What the group is called", NAME)
    others = forms.ModelMultipleChoiceField(
        Animal.objects.none(),
        label="With whom",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one other animal: one alone is no group."},
    )

    def __init__(self, *args, animal: Animal, **kwargs) -> None:
        super().__init__(*args, initial={"name": f"{animal.name or animal.number} and others"}, **kwargs)
        here = Animal.objects.filter(stays__discharged_on=None, stays__isnull=False, group=None).exclude(pk=animal.pk)
        self.fields["others"].queryset = here.order_by("name", "number")


class YoungForm(forms.Form):
    key = KeyField()
    count = forms.IntegerField(
        label="How many",
        min_value=1,
        max_value=MOST_YOUNG,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
        error_messages={
            "required": "Write how many were born.",
            "invalid": "Write a number, such as 4.",
            "min_value": "Write 1 or more.",
            "max_value": f"Write at most {MOST_YOUNG} at once.",
        },
    )
    names = forms.CharField(
        label="Their names",
        required=False,
        max_length=MOST_YOUNG * (NAME + 1),
        widget=forms.Textarea(attrs={"rows": 4, "spellcheck": "false"}),
        help_text="One to a line, as far as they have any.",
    )
    born_on = DayField("Born on")
    level = forms.ModelChoiceField(
        BoardingLevel.objects.order_by("position"),
        label="Boarding level",
        help_text="Its nights are per animal; a level “with mother” may cost nothing.",
        empty_label=None,
    )

    def clean(self):
        said = super().clean()
        names = [" ".join(name.split()) for name in said.get("names", "").splitlines() if name.strip()]
        count = said.get("count") or 0
        if count and len(names) > count:
            self.add_error("names", f"There are {len(names)} names for {count}. Correct one of the two.")
        if any(len(name) > NAME for name in names):
            self.add_error("names", f"A name has at most {NAME} letters.")
        said["names"] = [*names, *[""] * (count - len(names))]
        return said
