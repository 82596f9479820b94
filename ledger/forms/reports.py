"""The scope of a report, the accountant's codes, and who approved the prices."""

from collections.abc import Sequence

from django import forms

from config.fields import DayField, KeyField, LineField, PeriodForm
from ledger.queries.accounts import AccountFacts


class ReportForm(PeriodForm):
    """A period, and the number of the last entry that counts."""

    as_of = forms.IntegerField(
        label="As of entry",
        required=False,
        min_value=1,
        error_messages={"invalid": "Write the number of an entry.", "min_value": "Entries are numbered from 1."},
    )


class AccountCodesForm(forms.Form):
    """One line for each account; the accountant's own code may be words or figures."""

    def __init__(self, *args, accounts: Sequence[AccountFacts], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for account in accounts:
            self.fields[account.code] = LineField(
                account.name, 20, required=False, initial=account.accountants_code, help_text=account.kind_words
            )


class ApprovalForm(forms.Form):
    key = KeyField()
    name = LineField("Who approved them", 120, help_text="Somebody who does not work for the practice.")
    office = LineField("Office", 120, help_text="board member, treasurer, outside accountant")
    approved_on = DayField("Approved on")
    from_on = DayField("For the prices in force from")
    note = LineField("Note", 300, required=False)
