"""Clean words of somebody at the door."""

from django import forms


class SignInForm(forms.Form):
    username = forms.CharField(
        label="Sign-in name",
        max_length=150,
        widget=forms.TextInput(attrs={"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}),
    )
    password = forms.CharField(
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password", "data-may-show": True}),
    )

    def clean_username(self) -> str:
        return self.cleaned_data["username"].lower()
