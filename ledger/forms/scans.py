"""The form for a scan that hangs on an entry."""

from django import forms

from config.fields import KeyField, LineField


class ScanForm(forms.Form):
    key = KeyField()
    file = forms.FileField(
        label="The paper",
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp,application/pdf"}),
        help_text="A photograph or a PDF.",
        error_messages={"required": "Photograph the paper, or choose a file.", "empty": "The file is empty."},
    )
    name = LineField("What it is", 120, help_text="Such as: invoice 17.")
