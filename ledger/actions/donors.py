"""Adds donors and changes what is known of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db import transaction

from config.refusal import Refusal
from ledger.models import Donor


class DonorNameless(Refusal):
    """A donor needs a name; a gift of somebody unknown needs no donor."""

    field = "name"

    def __init__(self) -> None:
        super().__init__("Write the donor's name. For a gift from somebody unknown leave the donor out instead.")


@transaction.atomic
def add(
    *, key: UUID, name: str, on: date, by: int, kind: str = "person", address: str = "", email: str = "", note: str = ""
) -> Donor:
    """Add a donor; the same key gives back the donor that it added.

    :raises DonorNameless: when there is no name.
    """
    if known := Donor.objects.filter(key=key).first():
        return known
    donor = Donor(key=key, added_on=on, added_by=by)
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
def change(*, donor_id: int, kind: str, name: str, address: str, email: str, note: str) -> Donor:
    """Change what is known of a donor; gifts stay theirs.

    :raises DonorNameless: when there is no name.
    """
    donor = Donor.objects.get(id=donor_id)
    _write(donor, kind=kind, name=name, address=address, email=email, note=note)
    donor.save()
    return donor


def _write(donor: Donor, *, kind: str, name: str, address: str, email: str, note: str) -> None:
    if not name.strip():
        raise DonorNameless
    donor.kind, donor.name, donor.address = kind, name.strip(), address.strip()
    donor.email, donor.note = email.strip(), note.strip()
