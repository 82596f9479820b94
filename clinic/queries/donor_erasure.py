"""What erasing a donor would take away, what would stay, and what nobody here can reach: read before it is done."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from clinic.models import IssuedPaper, RunItem
from clinic.queries.issued_papers import ACKNOWLEDGE
from config import typed_words
from config.typed_words import Place
from ledger.queries import bank_copies, donor_erasures, donor_page, donors, file_copies, policies
from ledger.queries.donor_erasures import WordsLine
from ledger.queries.donor_page import DonorFacts
from ledger.queries.donors import DonorLine

SHOWN = 20


@dataclass(frozen=True, kw_only=True)
class CopyLine:
    name: str
    rows: int


@dataclass(frozen=True, kw_only=True)
class ErasurePage:
    donor: DonorLine
    facts: DonorFacts
    words: tuple[WordsLine, ...]
    copies: tuple[CopyLine, ...]
    rules: tuple[str, ...]  # by whose words the bank's lines of theirs are known
    bank_files: tuple[str, ...]
    places: tuple[Place, ...]
    namesakes: bool
    is_short: bool  # a name of one word, without e-mail or address: it is looked for beside their gifts alone
    scans: tuple[int, ...]
    papers: int
    receipts: int
    mailed: int
    years: str

    @property
    def shown(self) -> tuple[WordsLine, ...]:
        return self.words[:SHOWN]

    @property
    def more(self) -> int:
        return max(len(self.words) - SHOWN, 0)


def donor_erasure(*, donor_id: int, today: date) -> ErasurePage | None:
    """Return what erasing a donor means, or None where there is no such donor."""
    donor = donors.donor(donor_id=donor_id)
    if donor is None:
        return None
    what = donor_erasures.erasable(donor_id=donor_id)
    sought = () if what.namesakes else what.who.whole
    papers = IssuedPaper.objects.filter(donor_id__in=what.ids)
    copies = file_copies.blanked_copies(ids=what.ids, who=what.who, today=today)
    return ErasurePage(
        donor=donor,
        facts=donor_page.donor_facts(donor_id=donor_id),
        words=what.words,
        copies=tuple(CopyLine(name=copy.before, rows=copy.rows) for copy in copies),
        rules=tuple(rule.contains for rule in bank_copies.rules_naming(what=what)),
        bank_files=tuple(file.name for file in bank_copies.copies_naming(who=what.who)),
        places=typed_words.places(sought=sought, holds=what.who.is_told_by),
        namesakes=what.namesakes,
        is_short=not what.who.whole,
        scans=what.scans,
        papers=papers.count(),
        receipts=papers.filter(kind__in=ACKNOWLEDGE, replaced_by=None, withdrawal=None).count(),
        mailed=RunItem.objects.filter(donor_id__in=what.ids).exclude(mail="").count(),
        years=str(policies.policy(code="papers_kept", on=today)),
    )
