"""Adds donors, changes what is known of them, and keeps the numbers by which giving sites know them.

Refusal
├── DonorNameless   a donor needs a name
├── AddressWanted   whoever wants e-mail has an address for it
├── DonorErased     their identity was erased, and nothing is written about them any more
└── NumberTaken     a giving site knows somebody else by this number
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db import transaction

from config.refusal import Refusal
from ledger.models import Donor, DonorAddress, DonorNumber, GiftSource


class DonorNameless(Refusal):
    """A donor needs a name; a gift of somebody unknown needs no donor."""

    field = "name"

    def __init__(self) -> None:
        super().__init__("Write the donor's name. For a gift from somebody unknown leave the donor out instead.")


class AddressWanted(Refusal):
    field = "email"

    def __init__(self) -> None:
        super().__init__("Write the e-mail address to which papers go, or choose paper. Nothing was saved.")


class DonorErased(Refusal):
    def __init__(self) -> None:
        super().__init__(
            "This donor's name was erased, so nothing is written about them any more. Nothing was saved. "
            "If they give again and want to be known, add them as a new donor."
        )


class NumberTaken(Refusal):
    field = "number"

    def __init__(self, number: str, source: str) -> None:
        super().__init__(
            f"{source} knows another donor by {number}. Nothing was saved. If the two are one person, merge them."
        )


@transaction.atomic
def add(
    *,
    key: UUID,
    name: str,
    on: date,
    by: int,
    kind: str = "person",
    address: str = "",
    email: str = "",
    note: str = "",
    wants: str = "",
    is_unnamed: bool = False,
    language: str = "",
) -> Donor:
    """Add a donor; the same key gives back the donor that it added.

    :raises DonorNameless: when there is no name.
    :raises AddressWanted: when they want e-mail and there is no address.
    """
    if known := Donor.objects.filter(key=key).first():
        return known
    donor = Donor(key=key, added_on=on, added_by=by, wants=wants, is_unnamed=is_unnamed, language=language)
    _write(donor, kind=kind, name=name, address=address, email=email, note=note)
    donor.save(force_insert=True)
    return donor


@dataclass(frozen=True, kw_only=True)
class Newcomer:
    """A donor whom a list names and these books do not know yet."""

    key: UUID
    name: str
    email: str
    address: str


@transaction.atomic
def add_all(newcomers: Sequence[Newcomer], *, on: date, by: int) -> dict[UUID, int]:
    """Add the donors of a list, each key once; return the number of each by its key.

    :raises DonorNameless: when one has no name; nobody is added.
    """
    wanted = {one.key: one for one in newcomers}
    known = dict(Donor.objects.filter(key__in=list(wanted)).values_list("key", "id"))
    made = []
    for one in wanted.values():
        if one.key not in known:
            made.append(Donor(key=one.key, added_on=on, added_by=by))
            _write(made[-1], kind="person", name=one.name, address=one.address, email=one.email, note="")
    return known | {donor.key: donor.pk for donor in Donor.objects.bulk_create(made)}


@transaction.atomic
def change(
    *,
    donor_id: int,
    kind: str,
    name: str,
    address: str,
    email: str,
    note: str,
    on: date,
    by: int,
    wants: str = "",
    is_unnamed: bool = False,
    language: str = "",
) -> Donor:
    """Change what is known of a donor; gifts stay theirs, and a former address is kept with its last day.

    :raises DonorNameless: when there is no name.
    :raises AddressWanted: when they want e-mail and there is no address.
    :raises DonorErased: when their identity was erased.
    """
    donor = Donor.objects.select_for_update().get(id=donor_id)
    if donor.erased_on:
        raise DonorErased
    before = donor.address, donor.email
    donor.wants, donor.is_unnamed, donor.language = wants, is_unnamed, language
    _write(donor, kind=kind, name=name, address=address, email=email, note=note)
    donor.save()
    left = [old if old != new else "" for old, new in zip(before, (donor.address, donor.email), strict=True)]
    if any(left):
        DonorAddress.objects.create(donor=donor, address=left[0], email=left[1], until_on=on, changed_by=by)
    return donor


@transaction.atomic
def keep_number(*, donor_id: int, source: GiftSource, number: str) -> DonorNumber | None:
    """Keep the number by which a giving site knows a donor; None where it says none.

    :raises NumberTaken: when the site knows somebody else by it.
    """
    if not number.strip():
        return None
    kept, _ = DonorNumber.objects.get_or_create(
        source=source, number=number.strip()[:120], defaults={"donor_id": donor_id}
    )
    if kept.donor_id != donor_id:
        raise NumberTaken(kept.number, source.name)
    return kept


@transaction.atomic
def keep_numbers(*, source: GiftSource, numbers: Mapping[str, int]) -> None:
    """Keep the numbers of a list by which a giving site knows donors; one that it gave to somebody before stays so."""
    known = set(DonorNumber.objects.filter(source=source, number__in=list(numbers)).values_list("number", flat=True))
    DonorNumber.objects.bulk_create(
        DonorNumber(source=source, number=number, donor_id=donor)
        for number, donor in numbers.items()
        if number not in known
    )


def _write(donor: Donor, *, kind: str, name: str, address: str, email: str, note: str) -> None:
    if not name.strip():
        raise DonorNameless
    if donor.wants == Donor.Wants.EMAIL and not email.strip():
        raise AddressWanted
    donor.kind, donor.name, donor.address = kind, name.strip(), address.strip()
    donor.email, donor.note = email.strip(), note.strip()
