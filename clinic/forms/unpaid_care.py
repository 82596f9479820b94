"""Who takes an animal's unpaid care, and why."""

from django import forms

from config.fields import AmountField, DayField, KeyField, LineField


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


class StandForm(forms.Form):
    """From a day of care on, somebody takes what nobody pays, until an end or an amount."""

    key = KeyField()
    take = forms.ChoiceField(label="Who takes it from here on", widget=forms.RadioSelect)
    most_minor = AmountField("Up to which amount", required=False, help_text="Nothing here means without a limit.")
    from_on = DayField("From care of")
    until_on = DayField("Until care of", required=False)
    why = LineField("Why", 300, help_text="Kept with your name.")

    def __init__(self, *args, has_partner: bool, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        partner = [("agreement", "the partner is asked")] if has_partner else []
        self.fields["take"].choices = [("given", "the clinic gives it"), *partner]


class EndStandForm(forms.Form):
    decision_id = forms.IntegerField(widget=forms.HiddenInput)
    until_on = DayField("Ends with care of")
