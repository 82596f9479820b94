"""A form that asks nothing but to be sent."""

from django import forms


class PlainForm(forms.Form):
    sure = forms.CharField(widget=forms.HiddenInput, initial="yes")
