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


def logo() -> str:
    """Return the logo as a picture's source, empty where there is none or its file is gone: then the mark stands."""
    return _source(*(House.objects.values_list("logo_sha256", "logo_type").first() or ("", "")))


def signatory() -> home.Signatory | None:
    """Return who signs letters, with the signature as a picture's source; None where whoever issues one is named."""
    said = House.objects.values_list("signs_name", "signs_title", "signature_sha256", "signature_type").first()
    if not said or not said[0]:
        return None
    name, title, sha256, kind = said
    return home.Signatory(name=name, title=title, signature=_source(sha256, kind))


def _source(sha256: str, kind: str) -> str:
    content = uploads.read(sha256=sha256, content_type=kind) if sha256 else None
    return f"data:{kind};base64,{base64.b64encode(content).decode()}" if content else ""
