"""Clean words about people: who they are, what they may do, and the password they choose."""

from django import forms
from django.contrib.auth import password_validation

from clinic.models import Partner, User
from config.roles import CHOICES, Role

_ROLES_HINT = (
    "Ward: care, no amounts. Vet: all of care, plans, sign-off. Bookkeeper: gifts, prices, papers. "
    "Manager: sign-off, money decisions, people. Reader: every page, no change."
)


class RolesForm(forms.Form):
    roles = forms.MultipleChoiceField(
        choices=CHOICES,
        widget=forms.CheckboxSelectMultiple,
        help_text=_ROLES_HINT,
        error_messages={"required": "Choose at least one role: without one no page opens."},
    )
    partner = forms.ModelChoiceField(
        Partner.objects.order_by("name"),
        required=False,
        empty_label="no partner",
        help_text="Only for a partner contact: whose animals they may see.",
    )

    def clean_roles(self) -> frozenset[Role]:
        return frozenset(Role(value) for value in self.cleaned_data["roles"])


class PersonForm(RolesForm):
    name = forms.CharField(max_length=120, help_text="As the person is called here.")
    initials = forms.CharField(
        max_length=4, help_text="Up to four letters; they stand beside every tick on the ward sheet."
    )
    sign_in = forms.CharField(
        label="Sign-in name", max_length=150, help_text="An e-mail address or a short name, typed at each sign-in."
    )
    initials.kind = "short"
    field_order = ["name", "initials", "sign_in", "roles", "partner"]

    def clean_initials(self) -> str:
        return self.cleaned_data["initials"].upper()


class PasswordForm(forms.Form):
    password = forms.CharField(
        label="Your password",
        help_text="At least ten characters. A short sentence is easy to keep and hard to guess.",
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password", "data-may-show": True}),
    )

    def __init__(self, *args, person: User | None = None, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.person = person

    def clean_password(self) -> str:
        password_validation.validate_password(self.cleaned_data["password"], self.person)
        return self.cleaned_data["password"]
