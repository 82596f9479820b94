"""Who the rows of a gift file may be: the donors that they mean, each with by what they were found."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import NamedTuple
from uuid import UUID, uuid5

from django.db.models.functions import Coalesce

from ledger.formulas.gift_files import GiftRow
from ledger.formulas.postcodes import alike, postcode
from ledger.models import Donor, DonorNumber, GiftSource


class _Donor(NamedTuple):
    id: int
    name: str
    email: str
    address: str
    one: int  # under whom they are read
    told: str


class FileDonors:
    """Who a row may be: by e-mail, else by the site's number, else by name and postcode or address, else by a name
    that only one donor has. A gift goes to the one whom the row means; a merge is followed where it is read.
    """

    def __init__(self, rows: Sequence[GiftRow], *, source: GiftSource) -> None:
        """Keep of all donors those alone whom a row may mean."""
        emails = {row.email.casefold() for row in rows if row.email}
        names = {alike(row.name) for row in rows if row.name}
        numbers = {row.number for row in rows if row.number}
        known = DonorNumber.objects.filter(source=source).values_list("number", "donor") if numbers else ()
        self.numbers = {number: donor for number, donor in known if number in numbers}
        wanted = set(self.numbers.values())
        self.by_id: dict[int, _Donor] = {}
        self.by_email: dict[str, _Donor] = {}
        self.by_name: dict[str, list[_Donor]] = defaultdict(list)
        for donor in _donors():
            if donor.id in wanted:
                self.by_id[donor.id] = donor
            if (email := donor.email.casefold()) in emails:
                self.by_email.setdefault(email, donor)
            if (name := alike(donor.name)) in names:
                self.by_name[name].append(donor)

    def of(self, source: GiftSource, row: GiftRow) -> tuple[int | None, UUID | None, str, str]:
        donor, match = self._found(row)
        if donor:
            merged = f", merged with {donor.name}" if donor.told != donor.name else ""
            return donor.id, None, donor.told, match + merged
        if not (row.name or row.email):
            return None, None, "", "nobody is named"
        who = row.email or (f"number {row.number}" if row.number else f"{row.name} {row.address}".casefold())
        return None, uuid5(source.key, f"donor {who}"), row.name or row.email, "new"

    def _found(self, row: GiftRow) -> tuple[_Donor | None, str]:
        numbered = self.by_id.get(self.numbers.get(row.number, 0))
        if row.email and (donor := self.by_email.get(row.email.casefold())):
            other = numbered is not None and numbered.one != donor.one
            return donor, "by e-mail, though its number is another donor’s" if other else "by e-mail"
        if numbered:
            return numbered, "by the site’s number"
        named = self.by_name.get(alike(row.name), []) if row.name else []
        return _by_name(row, named)


def _by_name(row: GiftRow, named: list[_Donor]) -> tuple[_Donor | None, str]:
    code, lives = postcode(row.address), alike(row.address)
    at_home = [one for one in named if lives and alike(one.address) == lives]
    near = [one for one in named if code and postcode(one.address) == code]
    bare = [one for one in named if not (row.email and one.email) and not (row.address and one.address)]
    for match, found, among in (
        ("by name and address", at_home, at_home),
        ("by name and postcode", near, near),
        ("by name alone", bare, named),
    ):
        if found and len({one.one for one in among}) == 1:
            return found[0], match
    return None, ""


def _donors():
    rows = Donor.objects.filter(erased_on=None).order_by("id")
    told = ("id", "name", "email", "address", Coalesce("same_as", "id"), Coalesce("same_as__name", "name"))
    return map(_Donor._make, rows.values_list(*told))
