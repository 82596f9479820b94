"""Clean words for setting up a real clinic: whose books, which house, who manages it."""

from typing import Any
from zoneinfo import available_timezones

from babel import Locale
from django import forms
from django.contrib.auth import password_validation

from config.roles import Role
from ledger.formulas.money import MINOR_UNITS

_ENGLISH = Locale("en")
_NO_COUNTRY = frozenset(["AC", "CP", "DG", "EA", "EU", "EZ", "IC", "QO", "TA", "UN", "XA", "XB", "XK", "ZZ"])
MONTHS = [(number, name) for number, name in _ENGLISH.months["format"]["wide"].items()]
KINDS = [
    ("own_charity", "the clinic’s own registered charity"),
    ("other_charity", "a charity that holds the money for the clinic"),
    ("practice", "the practice itself"),
]
ALSO = [(Role.VET.value, "vet: plans, care and sign-off"), (Role.BOOKKEEPER.value, "bookkeeper: gifts, prices, papers")]


def _countries() -> list[tuple[str, str]]:
    named = [(code, name) for code, name in _ENGLISH.territories.items() if len(code) == 2 and code not in _NO_COUNTRY]
    return [("", "choose a country"), *sorted(named, key=lambda pair: pair[1])]


def _currencies() -> list[tuple[str, str]]:
    named = [(code, f"{code}, {_ENGLISH.currencies.get(code, code)}") for code in sorted(MINOR_UNITS)]
    return [("", "choose a currency"), *named]


def _zones() -> list[tuple[str, str]]:
    places = sorted(name for name in available_timezones() if "/" in name and not name.startswith(("Etc/", "SystemV/")))
    return [("", "choose a place"), *((name, name.replace("_", " ")) for name in places)]


class SetUpForm(forms.Form):
    code = forms.CharField(
        label="One-time code", max_length=40, help_text="It stands in the window where ./run --no-demo was started."
    )
    holder_kind = forms.ChoiceField(
        label="Whose books are these?", choices=KINDS, widget=forms.RadioSelect, help_text="Printed on every paper."
    )
    holder_name = forms.CharField(label="Name of the fund holder", max_length=160)
    number = forms.CharField(
        label="Its registered number", max_length=40, required=False, help_text="Only a registered charity has one."
    )
    country = forms.ChoiceField(choices=_countries)
    currency = forms.ChoiceField(
        choices=_currencies, help_text="Every amount in the books is in it. It cannot be changed later."
    )
    fiscal_year_starts = forms.TypedChoiceField(
        label="The fiscal year starts in", choices=MONTHS, coerce=int, initial=1
    )
    house_name = forms.CharField(label="Name of the practice", max_length=120)
    address = forms.CharField(
        max_length=400, required=False, widget=forms.Textarea(attrs={"rows": 2}), help_text="As on its letterhead."
    )
    time_zone = forms.ChoiceField(choices=_zones, help_text="The nearest place in the list.")
    ward_turns_at = forms.IntegerField(
        label="The ward’s day turns at",
        min_value=0,
        max_value=23,
        initial=4,
        help_text="An hour of the night, 0 to 23. What is ticked before it belongs to the day before.",
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    opening_on = forms.DateField(
        label="Opening date",
        help_text="From this day on care is priced and money is booked. What was before is history.",
        widget=forms.DateInput(attrs={"type": "date"}),
    )
    name = forms.CharField(label="Name of the first manager", max_length=120)
    initials = forms.CharField(max_length=4)
    sign_in = forms.CharField(
        label="Sign-in name", max_length=150, help_text="An e-mail address or a short name.",
        widget=forms.TextInput(attrs={"autocomplete": "username"}),
    )  # fmt: skip
    password = forms.CharField(
        max_length=200,
        strip=False,
        help_text="At least ten characters. A short sentence is easy to keep and hard to guess.",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password", "data-may-show": True}),
    )
    also = forms.MultipleChoiceField(
        label="The manager is also", choices=ALSO, required=False, widget=forms.CheckboxSelectMultiple
    )
    initials.kind = "short"

    def clean_password(self) -> str:
        password_validation.validate_password(self.cleaned_data["password"])
        return self.cleaned_data["password"]

    def clean(self) -> dict:
        said = super().clean()
        if said.get("holder_kind") in {"own_charity", "other_charity"} and not said.get("number", "missing"):
            self.add_error("number", "A registered charity has a number. Write it, or choose the practice itself.")
        return said

    def books(self) -> dict[str, Any]:
        said = self.cleaned_data
        same = ("number", "country", "currency", "fiscal_year_starts")
        return {"kind": said["holder_kind"], "name": said["holder_name"], **{field: said[field] for field in same}}

    def manager(self) -> dict[str, Any]:
        said = self.cleaned_data
        return {
            "name": said["name"],
            "initials": said["initials"].upper(),
            "sign_in": said["sign_in"],
            "password": said["password"],
            "roles": frozenset(Role(value) for value in said["also"]),
        }
