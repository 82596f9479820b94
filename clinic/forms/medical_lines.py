"""The form for the medical line that donors read of a path."""

from django import forms

from clinic.formulas import medical_lines
from config.fields import KeyField


class MedicalLineForm(forms.Form):
    key = KeyField()
    state = forms.CharField(widget=forms.HiddenInput)
    words = forms.CharField(
        label="What was done, and whether it held",
        max_length=medical_lines.MOST,
        widget=forms.Textarea(attrs={"rows": 5}),
        help_text="As a donor may read it: what has happened so far. No amount, no promise, never “saved”.",
        error_messages={"required": "Write what was done and whether it held, in a sentence."},
    )
