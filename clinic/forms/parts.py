"""A form that the page of parts shows, filled and refused."""

from django import forms


class PartsForm(forms.Form):
    donor = forms.CharField(help_text="Name as on the check; leave empty for an anonymous gift.", required=False)
    amount = forms.DecimalField(label="Amount, US dollars", widget=forms.TextInput(attrs={"inputmode": "decimal"}))
    asked_for = forms.ChoiceField(
        label="What the donor asked for", choices=[("b", "Brindle Yard fund"), ("g", "no wish")]
    )
    given_on = forms.DateField(label="Came on", widget=forms.DateInput(attrs={"type": "date"}))
    chip = forms.RegexField(
        r"^\d{15}$",
        label="Microchip",
        help_text="15 digits, as scanned.",
        error_messages={"invalid": "Fourteen digits: one is missing. Scan it again, or leave it empty for now."},
    )
    weight = forms.DecimalField(
        label="Weight, kg",
        min_value=0,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
        error_messages={"min_value": "A weight is above zero."},
    )
    free = forms.BooleanField(
        label="Time given free", required=False, help_text="counted as the clinic’s gift of time, never as money"
    )
    rounds = forms.MultipleChoiceField(
        choices=[("m", "morning"), ("n", "midday"), ("e", "evening")],
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )


def filled() -> PartsForm:
    said = {"donor": "Orsolya Penhallow", "amount": "600.00", "asked_for": "b", "given_on": "2026-10-14"}
    return PartsForm({**said, "chip": "98512003417752", "weight": "-2", "free": "on", "rounds": ["m", "e"]})
