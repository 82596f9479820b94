"""The head of every paper, and who signs letters."""

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
    signs_name = LineField(
        "Who signs letters", 120, required=False, help_text="Left empty, whoever issues a letter is named."
    )
    signs_title = LineField("Their title", 120, required=False, help_text="Such as: practice manager.")
    signature = forms.FileField(
        label="Signature",
        required=False,
        widget=forms.FileInput(attrs={"accept": ACCEPTS}),
        help_text="A picture of it in dark ink on white paper: JPEG, PNG or WebP.",
    )
    without_signature = forms.BooleanField(label="Take the signature away", required=False)
