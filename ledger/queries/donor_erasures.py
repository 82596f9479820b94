"""What erasing a donor takes away, and what it leaves: read before anybody does it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from ledger.formulas import erasing
from ledger.formulas.erasing import Person
from ledger.models import Advance, Donor, DonorAddress, Entry, Gift, GiftReturn, LeftoverAnswer, Scan, Words
from ledger.queries import one_donor


@dataclass(frozen=True, kw_only=True)
class WordsLine:
    entry_number: int
    words: str
    is_theirs: bool  # typed at one of their own gifts


@dataclass(frozen=True, kw_only=True)
class Erasable:
    """A donor's ids and what identifies them; which typed words hold it, and at which entries scans hang."""

    ids: tuple[int, ...]
    who: Person
    namesakes: bool  # another donor has the same name: then it is looked for beside their own gifts alone
    words: tuple[WordsLine, ...]
    scans: tuple[int, ...]


def erasable(*, donor_id: int) -> Erasable:
    """Return what erasing a donor, with everybody who is read as one with them, would take away."""
    ids = one_donor.whole(donor_id=donor_id)
    who, namesakes = _person(ids)
    own = own_entries(ids=ids)
    return Erasable(
        ids=ids,
        who=who,
        namesakes=namesakes,
        words=tuple(_words(who, own, namesakes)),
        scans=tuple(Scan.objects.filter(entry__in=own).order_by("entry").values_list("entry", flat=True).distinct()),
    )


def erased(*, since: date | None = None) -> tuple[int, ...]:
    """Return the donors whose identity was erased."""
    rows = Donor.objects.filter(erased_on__isnull=False)
    return tuple((rows.filter(erased_on__gte=since) if since else rows).order_by("id").values_list("id", flat=True))


def own_entries(*, ids: Iterable[int]) -> set[int]:
    """Return the entries about a donor's gifts: that they came, went back, waited for a condition, were asked about."""
    gifts = Gift.objects.filter(donor__in=ids)
    found = {
        *gifts.values_list("entry", flat=True),
        *Advance.objects.filter(donor__in=ids).values_list("entry", flat=True),
        *GiftReturn.objects.filter(gift__in=gifts).values_list("entry", flat=True),
        *LeftoverAnswer.objects.filter(gift__in=gifts, entry__isnull=False).values_list("entry", flat=True),
    }
    return found | set(Entry.objects.filter(reverses__in=found).values_list("id", flat=True))


def _person(ids: tuple[int, ...]) -> tuple[Person, bool]:
    rows = list(Donor.objects.filter(id__in=ids).values("name", "address", "email"))
    earlier = list(DonorAddress.objects.filter(donor__in=ids).values("address", "email"))
    names = [row["name"] for row in rows]
    same = Q()
    for name in names:
        same |= Q(name__iexact=name)
    namesakes = Donor.objects.filter(same, erased_on=None).exclude(id__in=ids).exists()
    said = [*rows, *earlier]
    emails, addresses = ([row[what] for row in said if row[what]] for what in ("email", "address"))
    return erasing.person(names=names, emails=emails, addresses=addresses), namesakes


def _words(who: Person, own: set[int], namesakes: bool):
    for row in _that_may_hold(who, own, namesakes).order_by("entry"):
        words, is_theirs = ", ".join(filter(None, (row.subject, row.line, row.note))), row.entry_id in own
        if who.is_meant_by(words) if is_theirs else who.is_told_by(words):
            yield WordsLine(entry_number=row.entry_id, words=words, is_theirs=is_theirs)


def _that_may_hold(who: Person, own: set[int], namesakes: bool) -> QuerySet[Words]:
    """Return the words that are worth reading: their own, and those anywhere that hold the first word of what is
    looked for."""
    found = Q(entry__in=own)
    for one in () if namesakes else who.whole:
        first = max(one.split(), key=len)
        for column in ("subject", "line", "note"):
            for written in {first, first.upper(), first.lower(), first.title()}:
                found |= Q(**{f"{column}__icontains": written})
    return Words.objects.filter(found)
