"""The form for a letter's text."""

from django import forms

from clinic.formulas import letter_texts
from config.fields import KeyField


class LetterForm(forms.Form):
    key = KeyField()
    text = forms.CharField(
        label="Text",
        max_length=letter_texts.MOST,
        widget=forms.Textarea(attrs={"rows": 8}),
        help_text="Paragraphs are parted by an empty line.",
        error_messages={"required": "Write at least one sentence."},
    )

    def __init__(self, *args, code: str, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.code = code

    def clean_text(self) -> str:
        try:
            return letter_texts.checked(code=self.code, text=self.cleaned_data["text"])
        except letter_texts.FieldUnknown as unknown:
            raise forms.ValidationError(str(unknown)) from None
