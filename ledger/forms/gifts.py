"""Forms for gifts of money, goods, payouts and opening balances."""

from collections.abc import Sequence

from django import forms

from config.fields import AmountField, DayField, KeyField, LineField, QuantityField

WAYS = (("bank", "by the bank, check or cash"), ("giving_site", "through a giving site"))
TAKEN_FROM = (("bank", "from the bank"), ("giving_site", "by the giving site, from what it holds"))
UNKNOWN = ("", "somebody unknown")


class ChoosesDonor(forms.Form):
    donor_id = forms.TypedChoiceField(label="Donor", required=False, coerce=int, empty_value=None)

    def __init__(self, *args, donors: Sequence[tuple[int, str]] = (), **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["donor_id"].choices = [UNKNOWN, *donors]


class ChoosesFund(forms.Form):
    fund_id = forms.TypedChoiceField(label="Fund", coerce=int, error_messages={"required": "Choose a fund."})

    def __init__(self, *args, funds: Sequence[tuple[int, str]] = (), **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["fund_id"].choices = [("", "Choose a fund"), *funds]


class GiftForm(ChoosesDonor, ChoosesFund):
    """A gift of money as the donor gave it, its fee beside it."""

    key = KeyField()
    amount_minor = AmountField("Amount", help_text="As the donor gave it, before any fee.")
    received_on = DayField("Received on")
    way = forms.ChoiceField(label="How it came", choices=WAYS, widget=forms.RadioSelect, initial="bank")
    fee_minor = AmountField("Fee of the giving site", required=False, help_text="The gift itself pays it.")
    words = LineField("What the donor wrote", 300, required=False)
    clause_unseen = forms.BooleanField(
        label="The giver was not told what happens to what is left",
        required=False,
        help_text="For a restricted fund: the giver is asked before anything moves.",
    )
    field_order = (
        "key",
        "donor_id",
        "fund_id",
        "amount_minor",
        "received_on",
        "way",
        "fee_minor",
        "words",
        "clause_unseen",
    )

    def clean_fee_minor(self) -> int:
        return self.cleaned_data["fee_minor"] or 0


class GoodsForm(ChoosesDonor):
    """Donated goods: what, how many, and their fair value."""

    key = KeyField()
    words = LineField("What was given", 200)
    quantity = QuantityField("How many")
    unit = LineField("Counted in", 30, help_text="roll, box, bag")
    fair_value_minor = AmountField("Fair value together", help_text="What it would cost to buy.")
    received_on = DayField("Received on")
    field_order = ("key", "donor_id", "words", "quantity", "unit", "fair_value_minor", "received_on")


class PayoutForm(ChoosesFund):
    """Money of one fund that a giving site has paid to the bank."""

    key = KeyField()
    amount_minor = AmountField("Amount on the bank's statement")
    on = DayField("Paid out on")
    field_order = ("key", "fund_id", "amount_minor", "on")


class OpeningForm(ChoosesDonor, ChoosesFund):
    """What a fund held when these books began; with its donor where known."""

    key = KeyField()
    amount_minor = AmountField("Amount")
    on = DayField("Date of the opening balance")
    received_on = DayField("Received by the donor on", required=False, help_text="Where it is known.")
    words = LineField("Note", 300, required=False)
    field_order = ("key", "fund_id", "amount_minor", "on", "donor_id", "received_on", "words")


class TakeBackForm(forms.Form):
    """Why an entry was typed wrong."""

    key = KeyField()
    why = LineField("What was wrong", 300)


class ReturnForm(forms.Form):
    """A gift goes back, in whole or in part."""

    HOWS = (
        ("refund", "we refunded it: the giver asked"),
        ("chargeback", "the bank took it back"),
        ("mistyped", "it was typed wrong: it never was, or not so much"),
    )
    key = KeyField()
    how = forms.ChoiceField(label="What happened", choices=HOWS, widget=forms.RadioSelect)
    amount_minor = AmountField("How much", required=False, help_text="Nothing here means all that may go back.")
    way = forms.ChoiceField(
        label="From where it was taken", choices=TAKEN_FROM, widget=forms.RadioSelect, initial="bank"
    )
    why = LineField("What is known of it", 300)
