"""How donors want to be reached: what a run of papers and its letters go by."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import F
from django.db.models.functions import Coalesce

from ledger.models import Donor


@dataclass(frozen=True, kw_only=True)
class Contact:
    email: str
    wants: str
    is_erased: bool
    address: str = ""

    @property
    def gets_papers(self) -> bool:
        return self.wants != Donor.Wants.NOTHING and not self.is_erased

    @property
    def is_mailed(self) -> bool:
        return self.gets_papers and bool(self.email) and self.wants != Donor.Wants.PAPER

    @property
    def is_printed(self) -> bool:
        """Whoever has not said gets paper; whoever wants e-mail gets paper where there is no address."""
        return self.gets_papers and (self.wants != Donor.Wants.EMAIL or not self.email)

    @property
    def why_not_mailed(self) -> str:
        """Say why no letter goes by e-mail; nothing where one does."""
        if self.is_mailed:
            return ""
        if self.is_erased:
            return "Their name was erased; nothing is sent."
        if self.wants == Donor.Wants.NOTHING:
            return "Wants nothing; nothing is sent."
        return "Wants paper; print it." if self.wants == Donor.Wants.PAPER else "No e-mail address; print it."


def contacts(*, ids: Iterable[int]) -> dict[int, Contact]:
    """Return by id how donors want to be reached, one that was merged as the one under whom they are read."""
    rows = Donor.objects.filter(id__in=list(ids)).values_list(
        "id",
        Coalesce("same_as__email", "email"),
        Coalesce("same_as__wants", "wants"),
        Coalesce("same_as__erased_on", F("erased_on")),
        Coalesce("same_as__address", "address"),
    )
    return {
        number: Contact(email=email, wants=wants, is_erased=erased is not None, address=address)
        for number, email, wants, erased, address in rows
    }


@dataclass(frozen=True, kw_only=True)
class Addressee:
    id: int
    name: str
    address: str


def addressee(*, donor_id: int) -> Addressee | None:
    """Return to whom a donor's paper is written: whoever they are read as; None for nobody."""
    found = (
        Donor.objects.filter(id=donor_id)
        .values_list(
            Coalesce("same_as", "id"), Coalesce("same_as__name", "name"), Coalesce("same_as__address", "address")
        )
        .first()
    )
    return found and Addressee(id=found[0], name=found[1], address=found[2])
