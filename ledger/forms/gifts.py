"""Forms for gifts of money, goods, payouts and opening balances."""

from collections.abc import Sequence

from django import forms

from config.fields import DECIMAL_BOX, AmountField, DayField, KeyField, LineField, QuantityField
from ledger.forms.transfers import FundField
from ledger.formulas.money import MINOR_UNITS, CurrencyUnknown, TooManyDigits, typed_to_minor

WAYS = (("bank", "by the bank, check or cash"), ("giving_site", "through a giving site"))
TAKEN_FROM = (("bank", "from the bank"), ("giving_site", "by the giving site, from what it holds"))
UNKNOWN = ("", "somebody unknown")
APART = (
    ("own", "in a fund of its own, a reserve that feeds general money by dated transfers"),
    ("together", "with the other gifts of the fund"),
)
OUTCOMES = (
    ("met", "the condition is met: it is a gift from that day on"),
    ("failed", "it is not: the money goes back"),
)


class ChoosesDonor(forms.Form):
    donor_id = forms.TypedChoiceField(
        label="Donor",
        required=False,
        coerce=int,
        empty_value=None,
        help_text="Who gave last stands here. Somebody else: find them under Donors, and record the gift from there.",
    )

    def __init__(self, *args, donors: Sequence[tuple[int, str]] = (), **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["donor_id"].choices = [UNKNOWN, *donors]


class ChoosesFund(forms.Form):
    fund_id = forms.TypedChoiceField(label="Fund", coerce=int, error_messages={"required": "Choose a fund."})

    def __init__(self, *args, funds: Sequence[tuple[int, str]] = (), **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["fund_id"].choices = [("", "Choose a fund"), *funds]


class GiftForm(ChoosesDonor, ChoosesFund):
    """A gift of money as the donor gave it, its fee beside it; whole or split, large, foreign or anonymous."""

    MORE = (("second_fund_id", "second_minor"), ("third_fund_id", "third_minor"))

    key = KeyField()
    is_anonymous = forms.BooleanField(label="The giver does not want to be named", required=False)
    amount_minor = AmountField("Amount", help_text="As the donor gave it, before any fee.")
    received_on = DayField("Received on")
    way = forms.ChoiceField(label="How it came", choices=WAYS, widget=forms.RadioSelect, initial="bank")
    fee_minor = AmountField("Fee of the giving site", required=False)
    words = LineField("What the donor wrote", 300, required=False)
    clause_unseen = forms.BooleanField(
        label="The giver was not told what happens to what is left",
        required=False,
        help_text="For a restricted fund: the giver is asked before anything moves.",
    )
    second_fund_id = FundField("A part of it for", required=False, empty_value=None)
    second_minor = AmountField("That part", required=False)
    third_fund_id = FundField("Another part for", required=False, empty_value=None)
    third_minor = AmountField("That part", required=False)
    original_amount = forms.DecimalField(
        label="Amount in the foreign currency", max_digits=16, required=False, widget=forms.TextInput(attrs=DECIMAL_BOX)
    )
    original_currency = LineField("Its currency", 3, required=False, help_text="Three letters, such as EUR.")
    apart = forms.ChoiceField(label="Where it stands", choices=APART, required=False, widget=forms.RadioSelect)
    apart_name = LineField("Name of its own fund", 80, required=False)
    field_order = ("key", "donor_id", "fund_id", "amount_minor", "received_on", "way", "fee_minor", "words")

    def __init__(self, *args, funds=(), general: Sequence[int] = (), large_minor: int | None = None, **kwargs) -> None:
        super().__init__(*args, funds=funds, **kwargs)
        self.general, self.large_minor = frozenset(general), large_minor
        for name, _ in self.MORE:
            self.fields[name].offer(funds)

    @property
    def is_large(self) -> bool:
        return bool(self.errors.get("apart") or self.errors.get("apart_name") or self["apart"].value())

    @property
    def has_more(self) -> bool:
        """Whether something of the folded part was typed, so that it stands open."""
        folded = (*(name for pair in self.MORE for name in pair), "original_amount", "original_currency")
        return any(self[name].value() for name in folded)

    def clean_original_currency(self) -> str:
        code = self.cleaned_data["original_currency"].upper()
        if code and code not in MINOR_UNITS:
            raise forms.ValidationError(f"{code} is no currency in use. Write its three letters, such as EUR.")
        return code

    def clean(self) -> dict:
        said = super().clean()
        for fund, amount in self.MORE:
            if (said.get(fund) is None) != (said.get(amount) is None) and not {fund, amount} & set(self.errors):
                self.add_error(amount, "Write the part and choose its fund, or leave both empty.")
        if self.errors:
            return said
        if said["original_amount"] is not None or said["original_currency"]:
            self._read_original(said)
        wants = self.large_minor is not None and said["amount_minor"] > self.large_minor
        if wants and said["fund_id"] in self.general and not said["apart"]:
            self.add_error("apart", "Among small gifts it would wait for years. Give it a fund of its own, or not.")
        elif said["apart"] == "own" and not said["apart_name"]:
            self.add_error("apart_name", "Give its fund a name.")
        return said

    def _read_original(self, said: dict) -> None:
        try:
            said["original_minor"] = typed_to_minor(said["original_amount"], said["original_currency"])
        except (TypeError, CurrencyUnknown):
            self.add_error("original_currency", "Write both: the foreign amount and the three letters of its currency.")
        except TooManyDigits as fault:
            self.add_error("original_amount", str(fault))

    @property
    def gift(self) -> dict[str, object]:
        """What the action is told."""
        said = self.cleaned_data
        plain = ("key", "donor_id", "amount_minor", "received_on", "way", "words", "clause_unseen", "original_currency")
        more = {said[fund]: said[amount] for fund, amount in self.MORE if said[fund] is not None}
        facts = {name: said[name] for name in plain}
        facts |= {"fee_minor": said["fee_minor"] or 0, "anonymous": said["is_anonymous"]}
        facts["original_minor"] = said.get("original_minor")
        if said["apart"] == "own":
            return {**facts, "apart_name": said["apart_name"]}
        if not more:
            return {**facts, "fund_id": said["fund_id"]}
        rest = said["amount_minor"] - sum(more.values())
        return {**facts, "parts": {said["fund_id"]: more.pop(said["fund_id"], 0) + rest, **more}}


class AdvanceForm(ChoosesDonor, ChoosesFund):
    """Money that came with a condition."""

    key = KeyField()
    amount_minor = AmountField("Amount")
    received_on = DayField("Received on")
    condition = LineField(
        "What must happen before it is a gift", 200, help_text="Such as: forty dogs are neutered by June."
    )
    until_on = DayField("By when", required=False)
    field_order = ("key", "donor_id", "fund_id", "amount_minor", "received_on", "condition", "until_on")


class SettleForm(forms.Form):
    """A condition is met, or the money goes back."""

    key = KeyField()
    outcome = forms.ChoiceField(
        label="What happened",
        choices=OUTCOMES,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what happened."},
    )
    on = DayField("On")
    why = LineField("How it is known", 300, help_text="Such as: their letter of October 19.")


class GoodsForm(ChoosesDonor):
    """Donated goods: what, how many, and their fair value."""

    key = KeyField()
    words = LineField("What was given", 200)
    quantity = QuantityField("How many")
    unit = LineField("Counted in", 30, help_text="roll, box, bag")
    fair_value_minor = AmountField("Fair value together", help_text="What it would cost to buy.")
    received_on = DayField("Received on")
    field_order = ("key", "donor_id", "words", "quantity", "unit", "fair_value_minor", "received_on")


class PayoutForm(forms.Form):
    """What a giving site has paid to the bank: all that it holds, or one fund's."""

    key = KeyField()
    fund_id = FundField("Fund", required=False, empty_value=None, help_text="Leave it out where the whole was paid.")
    amount_minor = AmountField("Amount on the bank's statement")
    on = DayField("Paid out on")
    field_order = ("key", "amount_minor", "on", "fund_id")

    def __init__(self, *args, funds: Sequence[tuple[int, str]] = (), **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["fund_id"].choices = [("", "All funds together"), *funds]


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
