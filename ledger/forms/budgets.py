"""A fund's dates, and its budget lines."""

from django import forms

from config.fields import AmountField, DayField, KeyField, LineField
from ledger.models.accounts import CARE, NAME_OF
from ledger.queries.traits_seen import ALWAYS

KINDS = tuple((code, NAME_OF[code].lower()) for code in CARE)
TRAITS = tuple((trait, trait) for trait in ALWAYS if trait not in CARE)


class DatesForm(forms.Form):
    use_by = DayField("To be used by", required=False, help_text="Money with an earlier date pays first.")
    report_on = DayField("Report due on", required=False)


class BudgetForm(forms.Form):
    key = KeyField()
    words = LineField("What it is for", 80)
    care = forms.MultipleChoiceField(
        label="Which care counts",
        choices=(*KINDS, *TRAITS),
        widget=forms.CheckboxSelectMultiple,
        help_text="Care with any of them counts; where two lines fit, the first.",
        error_messages={"required": "Choose at least one kind of care."},
    )
    amount_minor = AmountField("Amount")
    from_on = DayField("From")
    until_on = DayField("Until")


class EndLineForm(forms.Form):
    line_id = forms.IntegerField(widget=forms.HiddenInput)
