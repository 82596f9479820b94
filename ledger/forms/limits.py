"""A limit of a fund, and its end."""

from django import forms

from config.fields import AmountField, DayField, KeyField

PER = (("animal", "per animal"), ("month", "per month of care"), ("animal_month", "per animal and month of care"))


class LimitForm(forms.Form):
    key = KeyField()
    per = forms.ChoiceField(label="It pays at most", choices=PER, widget=forms.RadioSelect, initial="animal")
    most_minor = AmountField("Amount", help_text="What it has paid before counts; 0 stops it.")
    from_on = DayField("From care of")


class LimitEndForm(forms.Form):
    limit_id = forms.IntegerField(widget=forms.HiddenInput)
    until_on = DayField("Ends with care of")
