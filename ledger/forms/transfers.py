"""Forms for moving money between funds, and for what is left of a fund that is not needed any more."""

from collections.abc import Sequence

from django import forms

from config.fields import AmountField, DayField, KeyField, LineField

ANSWERS = (
    ("move", "it may move under the clause"),
    ("refund", "it goes back to the giver"),
    ("leave", "it stays where it is"),
)


class FundField(forms.TypedChoiceField):
    """One of the funds that the view names; its clean value is the fund's id."""

    def __init__(self, label: str, **kwargs) -> None:
        kwargs.setdefault("error_messages", {"required": "Choose a fund."})
        super().__init__(label=label, coerce=int, **kwargs)

    def offer(self, funds: Sequence[tuple[int, str]]) -> None:
        self.choices = [("", "Choose a fund"), *funds]


class TransferForm(forms.Form):
    """From one fund to another, on a day."""

    key = KeyField()
    from_fund_id = FundField("From")
    to_fund_id = FundField("To")
    amount_minor = AmountField("Amount")
    on = DayField("On")
    words = LineField("Why", 300, required=False, help_text="It stands in both funds' journals.")

    def __init__(self, *args, funds: Sequence[tuple[int, str]], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for name in ("from_fund_id", "to_fund_id"):
            self.fields[name].offer(funds)


class LeftoverForm(forms.Form):
    """Somebody judges that a leftover clause applies, and says why."""

    key = KeyField()
    to_fund_id = FundField("It goes to")
    why = LineField("Why the clause applies", 300, help_text="Such as: Bracken was adopted on October 18.")
    last_bill = forms.BooleanField(
        label="The last bill is in",
        error_messages={"required": "Wait for the last bill: it is paid before anything moves."},
    )

    def __init__(self, *args, funds: Sequence[tuple[int, str]], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["to_fund_id"].offer(funds)


class AnswerForm(forms.Form):
    """What a giver who never saw the clause wants."""

    key = KeyField()
    answer = forms.ChoiceField(
        label="What the giver wants",
        choices=ANSWERS,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what the giver said; silence moves nothing."},
    )
    why = LineField("How and when the giver said so", 300, help_text="Such as: by letter of October 19.")
