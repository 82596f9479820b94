"""The form that sets one policy."""

from django import forms

from config.fields import AmountField, DayField, KeyField, LineField
from ledger.formulas.policies import Policy


class PolicyForm(forms.Form):
    """The policy's own question, with its answers or a box for an amount."""

    key = KeyField()
    value = forms.CharField()
    from_on = DayField("From", help_text="Today or a day to come; days that have passed keep theirs.")
    why = LineField("Why", 300)

    def __init__(self, *args, policy: Policy, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        if policy.is_amount:
            self.fields["value"] = AmountField(policy.question, required=False, help_text="Leave it empty for none.")
        else:
            self.fields["value"] = forms.ChoiceField(
                label=policy.question,
                choices=policy.answers,
                widget=forms.RadioSelect,
                error_messages={"required": "Choose an answer.", "invalid_choice": "Choose one of the answers."},
            )

    def clean_value(self) -> bool | int | str | None:
        said = self.cleaned_data["value"]
        return {"yes": True, "no": False}.get(said, said)
