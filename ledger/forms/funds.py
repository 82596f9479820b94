"""Opening a fund."""

from collections.abc import Sequence

from django import forms

from config.fields import DayField, KeyField, LineField
from ledger.forms.transfers import FundField

PURPOSES = (
    ("purpose", "for a kind of care"),
    ("general", "whatever is needed most"),
    ("reserve", "a reserve or a legacy: it pays for no care, and feeds general money by transfers"),
)
FOR_ONE = {"animal": "gifts that name this animal", "partner": "the fund of this partner"}


class FundForm(forms.Form):
    """A fund with its leftover clause. For an animal or a partner its page brings the key along."""

    key = KeyField()
    name = LineField("Name", 80)
    kind = forms.ChoiceField(label="What it is for", choices=PURPOSES, widget=forms.RadioSelect, initial="purpose")
    traits = forms.MultipleChoiceField(
        label="Kinds of care that it pays for",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Care must be all of what you choose.",
    )
    is_restricted = forms.BooleanField(
        label="Its givers restricted it", required=False, help_text="The house's own earmark is no restriction."
    )
    given_for = LineField("What it is given for, in words", 200, required=False)
    leftover = LineField(
        "What is not needed goes to",
        300,
        required=False,
        help_text="Printed wherever gifts for this fund are asked for; a restricted fund needs it.",
    )
    leftover_to = FundField("Which fund is that", required=False, empty_value=None)
    on = DayField("Opened on")
    use_by = DayField("To be used by", required=False)
    subject_key = forms.CharField(max_length=40, required=False, widget=forms.HiddenInput)
    party_key = forms.CharField(max_length=40, required=False, widget=forms.HiddenInput)

    def __init__(
        self, *args, traits: Sequence[str] = (), funds: Sequence[tuple[int, str]] = (), kind: str = "", **kwargs
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["leftover_to"].offer(funds)
        self.fields["traits"].choices = [(trait, trait.replace("_", " ").replace(":", ": ")) for trait in traits]
        if kind in FOR_ONE:
            self.fields["kind"].choices = [(kind, FOR_ONE[kind])]
            self.fields["kind"].initial = kind
            del self.fields["traits"]
