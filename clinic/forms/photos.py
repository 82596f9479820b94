"""Forms for a photo: adding it, who agreed to what, and withdrawing that."""

from django import forms

from clinic.models import PhotoConsent
from config.fields import DayField, KeyField, LineField

ACCEPTS = "image/jpeg,image/png,image/webp"


def photo_field(**kwargs) -> forms.FileField:
    return forms.FileField(
        label="Photo",
        widget=forms.FileInput(attrs={"accept": ACCEPTS}),
        error_messages={"required": "Take a photo, or choose one.", "empty": "The file is empty."},
        **kwargs,
    )


class PhotoForm(forms.Form):
    key = KeyField()
    photo = photo_field(help_text="JPEG, PNG or WebP, up to 12 MB. Where it was taken is not kept with it.")
    words = LineField("What is to be seen", 120, required=False, help_text="“Bracken on his first walk.”")
    taken_on = DayField("Taken on")


class PhotoConsentForm(forms.Form):
    key = KeyField()
    uses = forms.MultipleChoiceField(
        label="Agreed to",
        choices=PhotoConsent.Use.choices,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Say what was agreed to; without it the photo stays clinical."},
    )
    owner_said = LineField("Who agreed for the owner", 120)
    people = LineField("Who is to be seen in it, each of whom agreed", 200, required=False)
    nobody_in_it = forms.BooleanField(label="No person is to be seen in it", required=False)
    from_on = DayField("Said on")
    until_on = DayField("Until", required=False, help_text="The last day. Empty: until it is withdrawn.")


class PhotoWithdrawForm(forms.Form):
    on = DayField("From")
    why = LineField("Who withdrew it, and why", 200)
