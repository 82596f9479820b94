"""Forms for papers: issuing one, and correcting one that was issued."""

from django import forms

from config.fields import DayField, KeyField, LineField

FORMS = (("", "as the house’s policy says"), ("short", "the short form"), ("full", "the full list"))


class IssueForm(forms.Form):
    """The days and the form that were seen on the page."""

    key = KeyField()
    from_on = DayField("From")
    to_on = DayField("To")
    form = forms.ChoiceField(label="Form", choices=FORMS, required=False)

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for name in ("from_on", "to_on"):
            self.fields[name].widget = forms.HiddenInput()

    def clean(self):
        said = super().clean()
        if {"from_on", "to_on"} <= said.keys() and said["to_on"] < said["from_on"]:
            raise forms.ValidationError("The period ends before it begins. Choose it again.")
        return said


class CorrectForm(forms.Form):
    key = KeyField()
    why = LineField("What was wrong, or has changed", 300, help_text="Such as: a gift was recorded twice.")
    form = forms.ChoiceField(label="Form", choices=FORMS, required=False)
