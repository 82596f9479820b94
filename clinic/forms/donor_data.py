"""The form by which somebody erases a donor's name."""

from django import forms

from config.fields import LineField


class EraseForm(forms.Form):
    why = LineField("Why", 300, help_text="Kept, so without the name. Such as: asked for it by letter.")
    sure = forms.BooleanField(
        label="I have read what goes and what stays. It cannot be undone.",
        error_messages={"required": "Read it, then tick that you did. Nothing was erased."},
    )
