"""How many there really were, and how that is known."""

from django import forms

from config.fields import KeyField, LineField, QuantityField


class CorrectionForm(forms.Form):
    key = KeyField()
    quantity = QuantityField(
        "How many there really were", help_text="0 takes the line back: it did not happen.", min_value=0
    )
    why = LineField("How you know", 200, help_text="Kept with your name, on both entries.")
