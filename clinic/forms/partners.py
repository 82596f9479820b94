"""A rescue partner as it is added."""

from django import forms

from config.fields import DayField


class PartnerForm(forms.Form):
    name = forms.CharField(label="Name", max_length=120)
    short_name = forms.CharField(label="Short name", max_length=40, required=False, help_text="For funds and lists.")
    email = forms.EmailField(label="E-mail", required=False)
    phone = forms.CharField(label="Telephone", max_length=40, required=False)
    address = forms.CharField(label="Address", required=False, widget=forms.Textarea(attrs={"rows": 3}))
    since_on = DayField("Partner since")
