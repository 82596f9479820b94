"""What is typed about tablets: a device's name, a short code, and who stands before it."""

from typing import Any

from django import forms


class CodeField(forms.RegexField):
    def __init__(self, label: str, **kwargs: Any) -> None:
        attrs = {"inputmode": "numeric", "autocomplete": "off"}
        super().__init__(
            r"^[0-9]{4,8}\Z",
            label=label,
            widget=forms.PasswordInput(attrs=attrs),
            error_messages={"invalid": "Four to eight digits."},
            **kwargs,
        )


class EnrollForm(forms.Form):
    words = forms.CharField(label="Name of this device", max_length=60, help_text="Such as “kennels” or “cat room”.")


class CodeForm(forms.Form):
    code = CodeField("Your code", help_text="Four to eight digits, for the tablets only.")
    code.kind = "short"


class ChangeForm(forms.Form):
    initials = forms.CharField(max_length=4, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    code = CodeField("Your code")
    initials.kind = code.kind = "short"

    def clean_initials(self) -> str:
        return self.cleaned_data["initials"].upper()
