"""What every paper begins and letters end with: the clinic's name, address, logo and signature, and the paper's size.

Refusal
├── HouseNameless      a paper says whose it is
└── SignatureNobodys   a signature is somebody's
"""

from django.db import transaction

from clinic.models import House
from config.refusal import Refusal
from config.uploads import KeptFile


class HouseNameless(Refusal):
    """A paper must say whose it is."""

    field = "name"

    def __init__(self) -> None:
        super().__init__("Write the clinic's name: every paper says whose it is. Nothing was changed.")


class SignatureNobodys(Refusal):
    """The picture of a signature without the name of the person whose it is, or left behind when the name changed."""

    field = "signs_name"

    def __init__(self, sentence: str) -> None:
        super().__init__(f"{sentence} Nothing was changed.")


@transaction.atomic
def change(
    *, name: str, address: str, paper: str, logo: KeptFile | None = None, without_logo: bool = False,
    signs_name: str = "", signs_title: str = "", signature: KeptFile | None = None, without_signature: bool = False,
) -> House:  # fmt: skip
    """Change what the papers from now on carry; what was issued stays as it is.

    :raises HouseNameless: without a name.
    :raises SignatureNobodys: when a signature would stand without a name, or under another person's.
    """
    if not name.strip():
        raise HouseNameless
    house = House.objects.select_for_update().get()
    house.name, house.address, house.paper = name.strip(), address.strip(), paper
    if logo:
        house.logo_sha256, house.logo_type = logo.sha256, logo.content_type
    elif without_logo:
        house.logo_sha256 = house.logo_type = ""
    _sign(house, signs_name.strip(), signs_title.strip(), signature, without_signature)
    house.save()
    return house


def _sign(house: House, name: str, title: str, signature: KeptFile | None, without: bool) -> None:
    if signature:
        house.signature_sha256, house.signature_type = signature.sha256, signature.content_type
    elif without:
        house.signature_sha256 = house.signature_type = ""
    elif house.signature_sha256 and name != house.signs_name:
        raise SignatureNobodys(f"The signature on file is that of {house.signs_name}: choose another, or take it away.")
    if house.signature_sha256 and not name:
        raise SignatureNobodys("Write whose signature this is.")
    house.signs_name, house.signs_title = name, title
