"""What the other room and the templates may know of the house."""

import base64

from clinic.models import House, User
from config import home, uploads


def zone() -> str | None:
    """Return the house's time zone, or None before it is set up."""
    return House.objects.values_list("time_zone", flat=True).first()


def person(user_id: int) -> str:
    """Return the name of a person whom the books know by id, empty for somebody unknown."""
    return User.objects.filter(id=user_id).values_list("name", flat=True).first() or ""


def logo(house: House | None = None) -> str:
    """Return the logo as a picture's source, empty where there is none or its file is gone: then the mark stands."""
    house = house or House.objects.first()
    return _source(house.logo_sha256, house.logo_type) if house else ""


def signatory(house: House | None = None) -> home.Signatory | None:
    """Return who signs letters, with the signature as a picture's source; None where whoever issues one is named."""
    house = house or House.objects.first()
    if house is None or not house.signs_name:
        return None
    signature = _source(house.signature_sha256, house.signature_type)
    return home.Signatory(name=house.signs_name, title=house.signs_title, signature=signature)


def _source(sha256: str, kind: str) -> str:
    content = uploads.read(sha256=sha256, content_type=kind) if sha256 else None
    return f"data:{kind};base64,{base64.b64encode(content).decode()}" if content else ""
