"""The forms for what is known of a donor, and for saying that two are one."""

from django import forms

from config.fields import KeyField, LineField
from ledger.formulas.languages import LANGUAGES

KINDS = (("person", "a person"), ("organization", "an organization"), ("estate", "an estate"))
WANTS = (("", "has not said"), ("paper", "paper"), ("email", "e-mail"), ("nothing", "nothing"))


class DonorForm(forms.Form):
    key = KeyField()
    name = LineField("Name", 120, help_text="As it stands on a letter.")
    kind = forms.ChoiceField(label="Who gives", choices=KINDS, widget=forms.RadioSelect, initial="person")
    address = LineField("Address", 300, required=False, widget=forms.Textarea(attrs={"rows": 3}))
    email = forms.EmailField(label="E-mail", required=False)
    wants = forms.ChoiceField(
        label="What they want to get", choices=WANTS, widget=forms.RadioSelect, required=False,
        help_text="Statements and letters of thanks. A receipt that the law asks for may be due all the same.",
    )  # fmt: skip
    is_unnamed = forms.BooleanField(
        label="Does not want to be named", required=False,
        help_text="Their own page and their own papers name them, and no other page does.",
    )  # fmt: skip
    language = forms.ChoiceField(
        label="Language", choices=[("", "has not said"), *LANGUAGES.items()], required=False,
        help_text="Papers are written in English only so far; whoever writes to them reads it here.",
    )  # fmt: skip
    note = LineField("Note", 300, required=False)

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for name in ("wants", "language"):
            self.fields[name].one_of = True  # "has not said" is an answer


class MergeForm(forms.Form):
    """Which of two stands for both, and how somebody knows."""

    key = KeyField()
    into_id = forms.TypedChoiceField(label="Whose name and address count", coerce=int, widget=forms.RadioSelect)
    why = LineField("How you know", 300, help_text="Such as: she said so on the phone.")

    def __init__(self, *args, two: list[tuple[int, str]], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["into_id"].choices = two
        self.fields["into_id"].initial = two[0][0]


class UndoMergeForm(forms.Form):
    why = LineField("Why they are two", 300, help_text="Such as: mother and daughter with one e-mail.")
