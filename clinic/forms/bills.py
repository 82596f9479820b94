"""Forms for a bill: photographed at the animal, checked by the bookkeeper, paid."""

from django import forms

from config.fields import AmountField, DayField, KeyField, LineField

ACCEPTS = "image/jpeg,image/png,image/webp,application/pdf"
OUTCOMES = (("accept", "the funds are asked for it"), ("give", "its sender gives it: nothing is asked"))


class BillForm(forms.Form):
    """What anybody can write down who holds the paper."""

    key = KeyField()
    file = forms.FileField(
        label="The paper",
        widget=forms.FileInput(attrs={"accept": ACCEPTS, "capture": "environment"}),
        help_text="A photograph or a PDF.",
        error_messages={"required": "Photograph the paper, or choose a file.", "empty": "The file is empty."},
    )
    sender = LineField("Who sends it", 80, help_text="Such as: Weir Lane Laboratory.")
    words = LineField("What for", 80, help_text="Such as: blood count.")
    care_on = DayField("Day of the care")


class CheckForm(forms.Form):
    """What the bookkeeper enters."""

    outcome = forms.ChoiceField(label="Who pays it", choices=OUTCOMES, widget=forms.RadioSelect, initial="accept")
    amount_minor = AmountField("Amount on the paper")
    number = LineField("Number on the paper", 40, required=False)
    care_on = DayField("Day of the care")


class PayForm(forms.Form):
    key = KeyField()
    on = DayField("Paid on")
