"""Forms for paying out, and for a partner's own money."""

from collections.abc import Sequence

from django import forms

from config.fields import AmountField, DayField, KeyField, LineField
from ledger.forms.transfers import FundField

SPENT_ON = (("management", "management: the bank, insurance, the auditor"), ("fundraising", "fundraising"))
PARTNER = (
    ("pay", "it has paid: the oldest month is settled first, what is over becomes its deposit"),
    ("deposit", "it has left a deposit, its own money"),
    ("use_deposit", "its deposit settles what it owes, the oldest month first"),
    ("return_deposit", "its deposit went back to it"),
    ("give_up", "what it owes is given up"),
)


class SpendingForm(forms.Form):
    """Spending that is no animal's."""

    key = KeyField()
    kind = forms.ChoiceField(
        label="What it was for",
        choices=SPENT_ON,
        widget=forms.RadioSelect,
        error_messages={"required": "Say whether it was management or fundraising."},
    )
    words = LineField("What was bought, and from whom", 300)
    fund_id = FundField("Paid from")
    amount_minor = AmountField("Amount")
    on = DayField("Paid on")

    def __init__(self, *args, funds: Sequence[tuple[int, str]], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["fund_id"].offer(funds)


class PracticeForm(forms.Form):
    """A payment to the practice."""

    key = KeyField()
    amount_minor = AmountField("Amount", required=False, help_text="Left empty: all that is due.")
    on = DayField("Paid on")
    words = LineField("Note", 300, required=False)


class PartnerMoneyForm(forms.Form):
    """What happened with a partner's own money."""

    key = KeyField()
    what = forms.ChoiceField(
        label="What happened",
        choices=PARTNER,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what happened."},
    )
    amount_minor = AmountField("Amount")
    on = DayField("On")
    words = LineField("Note", 300, required=False, help_text="Why, where a debt is given up.")
