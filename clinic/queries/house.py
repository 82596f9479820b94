"""What the other room and the templates may know of the house."""

from clinic.models import House, User


def zone() -> str | None:
    """Return the house's time zone, or None before it is set up."""
    return House.objects.values_list("time_zone", flat=True).first()


def person(user_id: int) -> str:
    """Return the name of a person whom the books know by id, empty for somebody unknown."""
    return User.objects.filter(id=user_id).values_list("name", flat=True).first() or ""
