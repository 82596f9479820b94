"""Follow-ups: planned, moved, done, and what a procedure usually asks for."""

from django import forms

from clinic.models import FollowUp, FollowUpKind
from config.fields import DayField, KeyField, LineField

DAYS, WORDS = range(1, 3661), 80
# The first word of a line says the kind.
KINDS = {
    "sutures": FollowUpKind.SUTURES,
    "recheck": FollowUpKind.RECHECK,
    "visit": FollowUpKind.VISIT,
    "ask": FollowUpKind.QUESTION,
}


class FollowUpForm(forms.Form):
    key = KeyField()
    kind = forms.ChoiceField(
        label="What kind", choices=FollowUpKind.choices, widget=forms.RadioSelect, initial=FollowUpKind.RECHECK
    )
    words = LineField("What is asked", WORDS, help_text="“Is the wound dry?” “How is it walking?”")
    due_on = DayField("On")


class FollowUpMoveForm(forms.Form):
    due_on = DayField("To the day")
    why = LineField("Why", 200, help_text="“The foster is away until Monday.”")


class FollowUpDoneForm(forms.Form):
    result = forms.ChoiceField(
        label="What came of it",
        choices=FollowUp.Result.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what came of it; “lost to follow-up” is an answer too."},
    )
    words = LineField("In words", 200, required=False, help_text="What was said or seen, or how often nobody answered.")
    done_on = DayField("On")


class UsualFollowUpsForm(forms.Form):
    """What a procedure usually asks for, one to a line: days after it, kind, words."""

    plans = forms.CharField(
        label="Follow-ups",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false"}),
        help_text="One to a line: how many days after, the kind (sutures, recheck, visit or ask), what is asked. "
        "“12 sutures Take the sutures out”, “90 ask How is it walking?”",
    )

    def clean_plans(self) -> list[tuple[int, str, str]]:
        lines = [line.split(maxsplit=2) for line in self.cleaned_data["plans"].splitlines() if line.strip()]
        return [self._plan(words) for words in lines]

    def _plan(self, words: list[str]) -> tuple[int, str, str]:
        line = " ".join(words)
        if len(words) < 3:
            raise forms.ValidationError(f"“{line}” lacks its days, its kind or what is asked.")
        if not (words[0].isascii() and words[0].isdigit() and int(words[0][:6]) in DAYS):
            raise forms.ValidationError(f"“{words[0]}” is no number of days. Write one from 1 to 3660, such as 12.")
        kind = KINDS.get(words[1].casefold())
        if kind is None:
            raise forms.ValidationError(f"“{words[1]}” is no kind. Write sutures, recheck, visit or ask.")
        if len(words[2]) > WORDS:
            raise forms.ValidationError(f"“{words[2][:20]}…” is too long. Say it in {WORDS} letters.")
        return int(words[0]), kind.value, words[2].strip()
