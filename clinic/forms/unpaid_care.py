"""Who takes an animal's unpaid care, and why."""

from django import forms

from config.fields import KeyField


class TakeOverForm(forms.Form):
    key = KeyField()
    payer = forms.ChoiceField(label="Who takes it", widget=forms.RadioSelect)
    why = forms.CharField(
        label="Why",
        max_length=200,
        help_text="Kept with your name.",
        error_messages={"required": "Write why: the decision is kept with your name."},
    )

    def __init__(self, *args, funds, has_partner: bool, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["payer"].choices = [
            *((f"fund {fund.id}", fund.name) for fund in funds),
            *([("agreement", "the partner, by its agreement")] if has_partner else []),
            ("given", "the clinic gives it"),
        ]

    @property
    def chosen(self) -> dict[str, object]:
        payer, _, fund = self.cleaned_data["payer"].partition(" ")
        return {"payer": payer, "fund_id": int(fund) if fund else None}
