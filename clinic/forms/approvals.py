"""Who owns an animal, the owner's yes, a dispute and its answer, and a partner's withdrawal."""

from collections.abc import Iterable

from django import forms

from clinic.models import Approval, Owner, TreatmentPath, Withdrawal
from config.fields import AmountField, DayField, KeyField, LineField

# On these pages only a partner's own contact says yes.
HOW = [choice for choice in Approval.How.choices if choice[0] != Approval.How.HERE]

MOST = "The most that you agree this plan may ask, whoever pays it. What is yours of it follows your agreement."


class OwnerForm(forms.Form):
    key = KeyField()
    kind = forms.ChoiceField(label="Who may consent", choices=Owner.Kind.choices, widget=forms.RadioSelect)
    from_on = DayField("From")
    until_on = DayField("On hold until", required=False, help_text="Only for a hold: the day on which it ends.")
    words = LineField("How it is known", 200, required=False, help_text="The letter, the hold notice, the contract.")


class ApprovalForm(forms.Form):
    key = KeyField()
    path = forms.TypedChoiceField(label="To which plan", required=False, coerce=int, empty_value=None)
    words = LineField("To what", 200, help_text="“The left hock, in stages: the next operation and its days.”")
    amount_minor = AmountField("Up to which amount")
    given_by = LineField("Who said yes", 120)
    given_on = DayField("On")
    how = forms.ChoiceField(label="How", choices=HOW, widget=forms.RadioSelect, initial=Approval.How.EMAIL)
    file = forms.FileField(
        label="The paper it stands on",
        required=False,
        help_text="The letter or the e-mail: a photograph or a PDF, up to 12 MB.",
        error_messages={"empty": "The file is empty."},
    )

    def __init__(self, *args, paths: Iterable[TreatmentPath] = (), **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["path"].choices = [("", "no plan: this care alone"), *((path.pk, path.name) for path in paths)]


class YesForm(forms.Form):
    """A partner's contact approves a plan on their own page."""

    key = KeyField()
    path = forms.IntegerField(widget=forms.HiddenInput)
    amount_minor = AmountField("Up to which amount", help_text=MOST)


class DisputeForm(forms.Form):
    key = KeyField()
    words = LineField("What is wrong with it", 300)


class SettleForm(forms.Form):
    words = LineField("The answer", 300, help_text="Kept with your name. A line that was wrong is corrected first.")


class WithdrawForm(forms.Form):
    key = KeyField()
    covers = forms.ChoiceField(
        label="It withdraws", choices=Withdrawal.Covers.choices, widget=forms.RadioSelect, initial="new"
    )
    from_on = DayField("From")
    words = LineField("In writing", 300, help_text="The letter, its day, and what it says about the animals in care.")
