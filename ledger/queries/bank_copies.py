"""Where the bank's words name a person: lines that stand for their gifts, rules by words, kept copies of files."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator

from config import uploads
from ledger.formulas.erasing import Person
from ledger.models import BankFile, BankLineWords, BankMatch, BankRule
from ledger.queries.bank_files import table_of
from ledger.queries.donor_erasures import Erasable

PIECE = re.compile(r"[\r\n<>]+")


def lines_of_theirs(*, who: Person, entries: Collection[int]) -> list[int]:
    """Return the lines that stand for these entries and hold any part of the name."""
    rows = BankLineWords.objects.filter(line__matched__match__entries__entry__in=entries).distinct()
    found = rows.values_list("line", "who", "words")
    return [number for number, name, words in found if who.is_meant_by(f"{name} {words}")]


def rules_naming(*, what: Erasable) -> list[BankRule]:
    """Return the rules by words that hold a person's name: the whole of it, or of gifts any part.

    Where another donor has the same name a rule may be theirs, and stays.
    """
    who = what.who
    return [
        rule
        for rule in (() if what.namesakes else BankRule.objects.order_by("id"))
        if who.is_told_by(rule.contains) or rule.way == BankMatch.Way.GIFT and who.is_meant_by(rule.contains)
    ]


def copies_naming(*, who: Person) -> list[BankFile]:
    """Return the files whose kept copy names a person."""
    return [file for file in BankFile.objects.filter(copy_gone_on=None) if any(map(who.is_told_by, _pieces(file)))]


def _pieces(file: BankFile) -> Iterator[str]:
    content = uploads.read(sha256=file.sha256, content_type=file.content_type) or b""
    if file.content_type == uploads.XLSX:
        table = table_of(content, file.account)
        yield from (" ".join(row.cells) for row in (*table.above, *table.rows))
        return
    is_wide = content.startswith((b"\xff\xfe", b"\xfe\xff"))
    for charset in ("utf-16",) if is_wide else ("utf-8", "cp1252"):
        yield from PIECE.split(content.decode(charset, errors="replace"))
