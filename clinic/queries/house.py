"""What the other room and the templates may know of the house."""

import base64

from clinic.models import House, User
from config import uploads


def zone() -> str | None:
    """Return the house's time zone, or None before it is set up."""
    return House.objects.values_list("time_zone", flat=True).first()


def person(user_id: int) -> str:
    """Return the name of a person whom the books know by id, empty for somebody unknown."""
    return User.objects.filter(id=user_id).values_list("name", flat=True).first() or ""


def logo() -> str:
    """Return the logo as a picture's source, empty where there is none or its file is gone: then the mark stands."""
    sha256, kind = House.objects.values_list("logo_sha256", "logo_type").first() or ("", "")
    content = uploads.read(sha256=sha256, content_type=kind) if sha256 else None
    return f"data:{kind};base64,{base64.b64encode(content).decode()}" if content else ""
