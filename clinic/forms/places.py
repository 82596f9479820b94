"""A room with its places, and a boarding level."""

from django import forms
from django.utils.text import slugify

from clinic.models import Place


class RoomForm(forms.Form):
    name = forms.CharField(
        label="Room", max_length=60, help_text="A further place for a room that is there: the same name."
    )
    places = forms.CharField(
        label="Places", max_length=400, help_text="Kennels or cages, in order, with commas: A1, A2, A3."
    )

    def clean_places(self) -> list[str]:
        codes = [code.strip() for code in self.cleaned_data["places"].split(",") if code.strip()]
        most = Place._meta.get_field("code").max_length
        too_long = [code for code in codes if len(code) > most]
        if too_long:
            raise forms.ValidationError(
                f"{too_long[0]} is too long for a place. Write at most {most} letters and digits."
            )
        if len(set(codes)) < len(codes):
            raise forms.ValidationError("A place is named twice. Name each once.")
        return codes


class LevelForm(forms.Form):
    name = forms.CharField(label="Boarding level", max_length=40, help_text="“Standard”, “Intensive”, “With mother”.")
    standard_minutes = forms.IntegerField(
        label="Standard minutes a day",
        min_value=0,
        max_value=1440,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )

    def clean(self):
        said = super().clean()
        if said.get("name"):
            said["code"] = f"boarding-{slugify(said['name'])}"[:40]
        return said
