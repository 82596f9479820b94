"""What stands at the head of every paper: the clinic's name, address and logo, and the paper's size."""

from django.db import transaction

from clinic.models import House
from config.refusal import Refusal
from config.uploads import KeptFile


class HouseNameless(Refusal):
    """A paper must say whose it is."""

    field = "name"

    def __init__(self) -> None:
        super().__init__("Write the clinic's name: every paper says whose it is. Nothing was changed.")


@transaction.atomic
def change(*, name: str, address: str, paper: str, logo: KeptFile | None = None, without_logo: bool = False) -> House:
    """Change what the papers from now on carry; what was issued stays as it is.

    :raises HouseNameless: without a name.
    """
    if not name.strip():
        raise HouseNameless
    house = House.objects.select_for_update().get()
    house.name, house.address, house.paper = name.strip(), address.strip(), paper
    if logo:
        house.logo_sha256, house.logo_type = logo.sha256, logo.content_type
    elif without_logo:
        house.logo_sha256 = house.logo_type = ""
    house.save()
    return house
