"""An appeal for one animal, and its end."""

from collections.abc import Sequence

from django import forms

from config.fields import AmountField, KeyField, LineField
from ledger.queries.raised import NamingFund


class AppealForm(forms.Form):
    key = KeyField()
    words = LineField(
        "What it needs, in one sentence", 300, help_text="“Two skin grafts and eight weeks of dressings.”"
    )
    need_minor = AmountField("Needed")
    reserve_minor = AmountField("Reserve", help_text="On top: the appeal closes itself at the need with its reserve.")
    fund_id = forms.TypedChoiceField(label="The fund that takes the gifts", coerce=int)

    def __init__(self, *args, funds: Sequence[NamingFund], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["fund_id"].choices = [(fund.fund_id, fund.name) for fund in funds]


class AppealEndForm(forms.Form):
    why = LineField("Why it ends", 200, help_text="“Bracken has healed.” “The plan was changed.”")
