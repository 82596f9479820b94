"""What a person may open on a shared tablet: the ward sheet, as the ward sees it, and nothing else."""

from django.contrib.auth import logout
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest

from clinic.models import Tablet
from clinic.queries import tablets
from config.roles import Role

SESSION = "tablet"  # the key under which a session says on which tablet it began
COOKIE, SALT = "tablet", "clinic.tablet"
YEAR = 365 * 24 * 60 * 60


def this_device(request: HttpRequest) -> Tablet | None:
    """Return the tablet that this device is, by the secret that it alone holds."""
    secret = request.get_signed_cookie(COOKIE, default="", salt=SALT, max_age=YEAR)
    return tablets.standing(secret=secret) if secret else None


class TabletMiddleware:
    """Closes a session that began on a tablet when the tablet is closed, and holds it to the ward until then."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        return self.get_response(request)

    def process_view(self, request, view, args, kwargs):
        tablet_id = request.session.get(SESSION)
        if tablet_id is None or not request.user.is_authenticated:
            return
        request.tablet = tablets.name_of(tablet_id=tablet_id)
        if not request.tablet:
            logout(request)
            return
        request.user.role_set = frozenset({Role.WARD})  # whatever else the person may do elsewhere
        gate = getattr(view, "gate", None)
        if gate is not None and not gate.on_tablet:
            raise PermissionDenied
        return
