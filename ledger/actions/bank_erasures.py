"""Takes a person's name out of what the bank wrote: words of lines, rules, and kept copies of files."""

from __future__ import annotations

from datetime import date

from django.db import transaction

from ledger.formulas.erasing import ERASED
from ledger.models import BankFile, BankLineWords
from ledger.queries import bank_copies
from ledger.queries.donor_erasures import Erasable, own_entries


@transaction.atomic
def forget(*, what: Erasable, on: date, by: int) -> tuple[tuple[str, str], ...]:
    """Blank the words of their own lines, end the rules that name them without their words, and let go of the copies
    that do; return those copies.

    Words of other lines are typed words like any. A copy cannot be blanked without ceasing to be what the bank sent,
    so it goes as a whole: its digest and all that was read from it stay.
    """
    own = bank_copies.lines_of_theirs(who=what.who, entries=own_entries(ids=what.ids))
    BankLineWords.objects.filter(line__in=own).update(who="", words="")
    for rule in bank_copies.rules_naming(what=what):
        rule.contains, rule.ended_by = ERASED, rule.ended_by or by
        rule.save(update_fields=["contains", "ended_by"])
    gone = bank_copies.copies_naming(who=what.who)
    BankFile.objects.filter(id__in=[file.id for file in gone]).update(copy_gone_on=on)
    return tuple((file.sha256, file.content_type) for file in gone)
