"""Whether this is the demo: its house and all of its people stand as the diary wrote them."""

import tomllib
from functools import cache

from django.conf import settings

from clinic.models import House, User


@cache
def demo_people() -> tuple[dict, ...]:
    return tuple(tomllib.loads((settings.BASE_DIR / "fixtures" / "demo.toml").read_text())["person"])


def is_demo() -> bool:
    names = {person["sign_in"]: person["name"] for person in demo_people()}
    found = dict(User.objects.filter(sign_in__in=names).values_list("sign_in", "name"))
    return found == names and House.objects.filter(name="Larkweir Veterinary Practice").exists()
