"""The head of every paper."""

from django import forms

from clinic.forms.photos import ACCEPTS
from clinic.models import House
from config.fields import LineField


class LetterheadForm(forms.Form):
    name = LineField("Name of the clinic", 120)
    address = LineField("Address", 200, required=False)
    paper = forms.ChoiceField(label="Paper", choices=House._meta.get_field("paper").choices, widget=forms.RadioSelect)
    logo = forms.FileField(
        label="Logo",
        required=False,
        widget=forms.FileInput(attrs={"accept": ACCEPTS}),
        help_text="JPEG, PNG or WebP. A drawing with instructions in it, such as SVG, is not taken.",
    )
    without_logo = forms.BooleanField(label="Take the logo away", required=False)
