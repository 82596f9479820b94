"""Admitting an animal, moving it, ordering for it, and letting it go."""

from django import forms

from clinic.forms.photos import photo_field
from clinic.formulas import chips
from clinic.models import Animal, BoardingLevel, Order, Owner, Partner, Place, Service, Stay, User
from config.fields import DayField, KeyField, QuantityField
from config.roles import Role

SPECIES = ("dog", "cat", "rabbit", "hen", "duck", "hedgehog", "guinea pig", "pigeon", "ferret", "tortoise")


NO_PLACE = "the first free one among its kind"
NO_LEVEL = "as the last of its kind"


class AdmitForm(forms.Form):
    key = KeyField()
    name = forms.CharField(label="Name", max_length=80, required=False, help_text="May stay empty until it has one.")
    species = forms.CharField(
        label="Species",
        max_length=40,
        widget=forms.TextInput(attrs={"list": "species", "autocomplete": "off", "autocapitalize": "none"}),
        error_messages={"required": "Say what it is: dog, cat, hen."},
    )
    chip = forms.CharField(
        label="Microchip",
        max_length=40,
        required=False,
        help_text="15 digits, as scanned; 10 for an older chip.",
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "data-scanned": ""}),
    )
    photo = photo_field(required=False)
    about = forms.CharField(
        label="Why it is here", max_length=120, required=False, help_text="A few words for the sheet."
    )
    warning = forms.CharField(
        label="To be seen first", max_length=120, required=False, help_text="“Bites”, “isolation”, “nothing by mouth”."
    )
    partner = forms.ModelChoiceField(
        Partner.objects.filter(until_on=None).order_by("name"),
        label="Rescue partner",
        required=False,
        empty_label="none: brought by the clinic",
    )
    partner_number = forms.CharField(label="The partner’s own number", max_length=40, required=False)
    owner = forms.ChoiceField(
        label="Who may consent",
        choices=[
            ("", "who brings it"),
            (Owner.Kind.PRACTICE, "the practice"),
            (Owner.Kind.ON_HOLD, "nobody yet: on hold until a day"),
        ],
        required=False,
    )
    owner_until = DayField("On hold until", required=False, help_text="Only where it is on hold.")
    place = forms.ModelChoiceField(
        Place.objects.select_related("room").order_by("room__position", "position"),
        label="Place",
        required=False,
        empty_label=NO_PLACE,
    )
    level = forms.ModelChoiceField(
        BoardingLevel.objects.order_by("position"), label="Boarding level", required=False, empty_label=NO_LEVEL
    )
    sex = forms.ChoiceField(label="Sex", choices=Animal.Sex.choices, initial=Animal.Sex.UNKNOWN, required=False)
    born_on = DayField("Born on", required=False)
    admitted_on = DayField("Admitted on")

    def clean_chip(self) -> str:
        return clean_chip(self.cleaned_data["chip"])

    def clean_species(self) -> str:
        return self.cleaned_data["species"].strip().lower()

    def clean_sex(self) -> str:
        return self.cleaned_data["sex"] or Animal.Sex.UNKNOWN

    def clean(self):
        said = super().clean()
        if said.get("born_on") and said.get("admitted_on") and said["born_on"] > said["admitted_on"]:
            self.add_error("born_on", "It cannot be born after it came. Correct one of the two dates.")
        return said


class CorrectForm(forms.Form):
    """Who the animal is said to be; what stood before stays readable."""

    name = forms.CharField(label="Name", max_length=80, required=False)
    sex = forms.ChoiceField(label="Sex", choices=Animal.Sex.choices)
    species = forms.CharField(
        label="Species", max_length=40, error_messages={"required": "Say what it is: dog, cat, hen."}
    )
    chip = forms.CharField(
        label="Microchip",
        max_length=40,
        required=False,
        help_text="15 digits, as scanned; 10 for an older chip.",
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "data-scanned": ""}),
    )
    partner_number = forms.CharField(label="The partner’s own number", max_length=40, required=False)
    born_on = DayField("Born on", required=False)
    about = forms.CharField(label="Why it is here", max_length=120, required=False)
    warning = forms.CharField(label="To be seen first", max_length=120, required=False)
    on = DayField("Found on")
    why = forms.CharField(
        label="Why it changes", max_length=200, required=False, help_text="“Its partner named it.” “Seen at the exam.”"
    )

    def clean_chip(self) -> str:
        return clean_chip(self.cleaned_data["chip"])

    def clean_species(self) -> str:
        return self.cleaned_data["species"].strip().lower()


def clean_chip(text: str) -> str:
    try:
        return chips.read(text=text).number if text.strip() else ""
    except ValueError as wrong:
        raise forms.ValidationError(str(wrong)) from None


class ReadmitForm(forms.Form):
    admitted_on = DayField("Admitted on")
    admitted_for = forms.CharField(label="Why it is here", max_length=120, required=False)
    place = forms.ModelChoiceField(
        Place.objects.select_related("room").order_by("room__position", "position"),
        label="Place",
        required=False,
        empty_label=NO_PLACE,
    )
    level = forms.ModelChoiceField(
        BoardingLevel.objects.order_by("position"), label="Boarding level", required=False, empty_label=NO_LEVEL
    )


NEEDS_A_REASON = (Stay.LeftTo.DIED, Stay.LeftTo.EUTHANIZED, Stay.LeftTo.OTHER)


class DischargeForm(forms.Form):
    discharged_on = DayField("Left on", help_text="The day it left makes no night.")
    left_to = forms.ChoiceField(label="Where to", choices=Stay.LeftTo.choices)
    why = forms.CharField(
        label="Why",
        max_length=200,
        required=False,
        help_text="Needed where it died, was euthanized, or went elsewhere.",
    )
    why.wanted = True
    left_with = forms.CharField(
        label="Who has it now", max_length=120, required=False, help_text="Name and telephone: who is asked how it is."
    )
    ask_after = forms.IntegerField(
        label="Ask how it is after so many days",
        required=False,
        min_value=1,
        max_value=3660,
        help_text="Empty: nobody asks, beyond what its operations ask for.",
        error_messages={
            "invalid": "Write a number of days, such as 14.",
            "min_value": "Write a number of days from 1 on.",
            "max_value": "Write a number of days, at most 3660.",
        },
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    as_visits = forms.BooleanField(
        label="What was given after that day, it got at visits", required=False, widget=forms.HiddenInput
    )
    ask_words = forms.CharField(label="What is asked", max_length=80, required=False, initial="How is it?")

    def clean(self):
        said = super().clean()
        after, words = said.pop("ask_after", None), said.pop("ask_words", "")
        if said.get("left_to") in NEEDS_A_REASON and not said.get("why", "").strip():
            self.add_error("why", "Say why, in a few words; it stands in its history.")
        return {**said, "ask": (after, words or "How is it?") if after else None}

    def add_error(self, field: str | None, error) -> None:
        """Show the box about visits once it is needed."""
        if field == "as_visits":
            self.fields["as_visits"].widget = forms.CheckboxInput()
        super().add_error(field, error)


class MoveForm(forms.Form):
    place = forms.ModelChoiceField(
        Place.objects.select_related("room").order_by("room__position", "position"), label="Place", empty_label=None
    )
    why = forms.CharField(label="Why", max_length=200, required=False)


class LevelForm(forms.Form):
    level = forms.ModelChoiceField(BoardingLevel.objects.order_by("position"), label="Boarding level", empty_label=None)
    from_on = DayField("From")


class OrderForm(forms.Form):
    key = KeyField()
    service = forms.ModelChoiceField(
        Service.objects.exclude(kind__in=[Service.Kind.BOARDING, Service.Kind.PROCEDURE]).order_by("kind", "name"),
        label="What is ordered",
    )
    words = forms.CharField(
        label="How", max_length=120, required=False, help_text="“left eye”, “until dry”. No doses are computed."
    )
    rounds = forms.MultipleChoiceField(
        label="In which rounds",
        choices=Order.Round.choices,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one round."},
    )
    every_days = forms.IntegerField(
        label="Every how many days",
        initial=1,
        min_value=1,
        max_value=366,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    starts_on = DayField("From")
    until_on = DayField("Until", required=False)
    for_all = forms.BooleanField(
        label="For all of its group together", required=False, help_text="One tap gives it; its price is shared."
    )

    def __init__(self, *args, in_group: bool = False, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        if not in_group:
            del self.fields["for_all"]

    def clean(self):
        said = super().clean()
        if said.get("until_on") and said.get("starts_on") and said["until_on"] < said["starts_on"]:
            self.add_error("until_on", "An order cannot end before it begins.")
        return said


class StopForm(forms.Form):
    order = forms.ModelChoiceField(Order.objects.all(), widget=forms.HiddenInput)


class ProcedureForm(forms.Form):
    key = KeyField()
    service = forms.ModelChoiceField(
        Service.objects.filter(kind=Service.Kind.PROCEDURE).order_by("name"), label="Procedure"
    )
    on = DayField("On")
    quantity = QuantityField("How many", initial=1)
    asa_class = forms.TypedChoiceField(
        label="ASA class",
        coerce=int,
        empty_value=None,
        required=False,
        choices=[("", "not known"), *((number, str(number)) for number in range(1, 6))],
    )
    vet = forms.ModelChoiceField(User.objects.none(), label="Veterinarian", required=False)
    anesthesia_minutes = forms.IntegerField(
        label="Anesthesia, minutes",
        required=False,
        min_value=0,
        max_value=1440,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    emergency = forms.BooleanField(label="Emergency", required=False)
    late_source = forms.ChoiceField(
        label="Late entry, from",
        required=False,
        choices=[("", "it is today's"), ("paper", "paper"), ("memory", "memory"), ("told", "told by somebody")],
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["vet"].queryset = User.objects.filter(is_active=True, roles_held__role=Role.VET).order_by("name")
