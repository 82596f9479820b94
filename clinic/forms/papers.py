"""Forms for papers: issuing one, and correcting one that was issued."""

from django import forms

from clinic.formulas.in_return import RECEIPTED_BY, US, InReturn
from config.fields import AmountField, DayField, KeyField, LineField

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


class ReceiptForm(forms.Form):
    """What came back for a gift, and who acknowledges it (I4)."""

    key = KeyField()
    receipted_by = forms.ChoiceField(label="Who gives the receipt", choices=RECEIPTED_BY, widget=forms.RadioSelect)
    words = LineField(
        "What the donor got for it", 120, required=False, help_text="Such as: a dinner. Thanks are nothing."
    )
    benefit_minor = AmountField("What that was worth", required=False)
    items_cost_minor = AmountField(
        "What it cost us", required=False, help_text="Only where it was small things such as mugs or calendars."
    )
    is_declared = forms.BooleanField(label="A Gift Aid declaration is on file", required=False)

    def __init__(self, *args, country: str, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        if country != "GB":
            del self.fields["is_declared"]

    def clean(self):
        said = super().clean()
        worth, words = said.get("benefit_minor") or 0, said.get("words", "")
        if worth < 0:
            self.add_error("benefit_minor", "A benefit is worth zero or more.")
        if bool(worth) != bool(words):
            self.add_error("words", "Write both what came back and what it was worth, or neither.")
        return said

    @property
    def returned(self) -> InReturn:
        said = self.cleaned_data if self.is_valid() else {}
        return InReturn(
            words=said.get("words", ""),
            benefit_minor=said.get("benefit_minor") or 0,
            items_cost_minor=said.get("items_cost_minor"),
            receipted_by=said.get("receipted_by") or self.initial.get("receipted_by", US),
            is_declared=said.get("is_declared", False),
        )


class CancelForm(forms.Form):
    why = LineField(
        "Why it no longer counts", 300, help_text="Such as: the gift went back; or who proved that they gave."
    )
    is_served = forms.BooleanField(
        label="Whoever may read papers may still open its file", required=False, initial=True
    )


class RunForm(forms.Form):
    """Whose statements, and of which days."""

    key = KeyField()
    kind = forms.ChoiceField(
        label="Whose", choices=(("donor", "all donors"), ("partner", "all partners")), widget=forms.RadioSelect,
        initial="donor",
    )  # fmt: skip
    from_on = DayField("From")
    to_on = DayField("To")
    form = forms.ChoiceField(label="Form, for donors", choices=FORMS, required=False)

    def clean(self):
        said = super().clean()
        if {"from_on", "to_on"} <= said.keys() and said["to_on"] < said["from_on"]:
            self.add_error("to_on", "The period ends before it begins. Correct one of the two dates.")
        return said
