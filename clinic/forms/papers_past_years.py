"""The form by which a manager destroys the files of papers whose years are over."""

from collections.abc import Sequence

from django import forms

from config.fields import LineField


class DestroyForm(forms.Form):
    numbers = forms.MultipleChoiceField(
        label="Papers",
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "Choose the papers. Nothing was destroyed.",
            "invalid_choice": "One of them is not past its years. Nothing was destroyed.",
        },
    )
    why = LineField("Why", 300, help_text="Kept, so without a name. Such as: kept as long as the law asks.")
    sure = forms.BooleanField(
        label="These files may go. It cannot be undone.",
        error_messages={"required": "Tick that these files may go. Nothing was destroyed."},
    )

    def __init__(self, *args, choices: Sequence[tuple[str, str]] = (), **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["numbers"].choices = choices
