"""The form for what is known of a donor."""

from django import forms

from config.fields import KeyField, LineField

KINDS = (("person", "a person"), ("organization", "an organization"), ("estate", "an estate"))


class DonorForm(forms.Form):
    key = KeyField()
    name = LineField("Name", 120, help_text="As it stands on a letter.")
    kind = forms.ChoiceField(label="Who gives", choices=KINDS, widget=forms.RadioSelect, initial="person")
    address = LineField("Address", 300, required=False, widget=forms.Textarea(attrs={"rows": 3}))
    email = forms.EmailField(label="E-mail", required=False)
    note = LineField("Note", 300, required=False)
