"""Erases a donor's identity everywhere: the books, the copies of gift files, words that people typed.

First the list that outlives every copy, then one transaction, then the old copies of files; each step may be done
again. Issued papers stay as they are, for as long as the law wants them kept.
"""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction

from clinic.models import IssuedPaper, PaperWithdrawal
from config import clock, home, typed_words, uploads
from config.backups import outliving
from config.backups.outliving import Erased
from config.refusal import Refusal
from config.typed_words import Place
from ledger.actions import bank_erasures, donor_erasures
from ledger.formulas.erasing import ERASED
from ledger.queries import donor_erasures as erasures
from ledger.queries import donor_keys, file_copies
from ledger.queries.donor_erasures import Erasable


def erase_donor(*, donor_id: int, why: str, by: int, today: date, at: datetime) -> tuple[Place, ...]:
    """Erase a donor; return the places where a row that is never changed still holds the name.

    :raises ErasureRefused: when they were erased before, or the reason is missing or names them.
    """
    what = erasures.erasable(donor_id=donor_id)
    donor_erasures.check(what=what, why=why)
    keys = donor_keys.keys(ids=what.ids)
    lines = [Erased(key=key, on=today.isoformat(), by=by, why=why.strip()) for key in keys]
    outliving.write_down(lines)
    try:
        return _erase(what, why=why, on=today, by=by, today=today, at=at)
    except Refusal:
        outliving.strike(lines)
        raise


def erase_again(*, lines: list[Erased]) -> int:
    """Erase in a copy that was put back whoever was erased before; return how many."""
    today, at, done = clock.today(home.zone()), clock.now(), 0
    for line in lines:
        donor_id = donor_keys.still_named(key=line.key)
        if donor_id is None:
            continue
        what = erasures.erasable(donor_id=donor_id)
        _erase(what, why=line.why, on=date.fromisoformat(line.on), by=line.by, today=today, at=at)
        done += 1
    return done


def _erase(what: Erasable, *, why: str, on: date, by: int, today: date, at: datetime) -> tuple[Place, ...]:
    copies = list(file_copies.blanked_copies(ids=what.ids, who=what.who, today=today))
    before = [file_copies.kept_as(file_id=copy.file_id) for copy in copies]
    with transaction.atomic(durable=True):
        bank_copies = bank_erasures.forget(what=what, on=on, by=by)
        donor_erasures.erase(what=what, copies=copies, why=why, on=on, by=by, at=at)
        who = what.who
        _reasons(what)
        sought = () if what.namesakes else who.whole
        left = typed_words.mask(sought=sought, holds=who.is_told_by, masked=who.masked)
    for sha256, content_type in bank_copies:
        uploads.remove(sha256=sha256, content_type=content_type)
    for sha256, content_type in before:
        if file_copies.is_free(sha256=sha256):
            uploads.remove(sha256=sha256, content_type=content_type)
    return left


def _reasons(what: Erasable) -> None:
    """Erase the reasons beside their own papers that hold any part of the name."""
    papers = IssuedPaper.objects.filter(donor_id__in=what.ids)
    for rows in (papers, PaperWithdrawal.objects.filter(paper__in=papers)):
        for pk, why in list(rows.values_list("pk", "why")):
            if what.who.is_meant_by(why):
                rows.filter(pk=pk).update(why=ERASED)
