"""Closed by default: nobody signed out, nobody without the role, and a busy database said in words."""

from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.core.exceptions import PermissionDenied
from django.db import OperationalError
from django.http import Http404, HttpResponse

from config import errors
from config.roles import Role


class SignedInMiddleware(LoginRequiredMiddleware):
    def handle_no_permission(self, request, view_func):
        response = super().handle_no_permission(request, view_func)
        if getattr(request, "htmx", False):
            return HttpResponse(status=401, headers={"HX-Redirect": response["Location"]})
        return response


class GateMiddleware:
    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        return self.get_response(request)

    def process_view(self, request, view, args, kwargs):
        if not getattr(view, "login_required", True):
            return None
        gate = getattr(view, "gate", None)
        writer = request.headers.get("X-Written-By")
        if writer and writer != str(request.user.pk):
            return HttpResponse(status=409)  # an entry is sent by who wrote it down, and by nobody else
        roles = request.user.role_set
        if gate is not None and gate.opens(request.method, roles):
            return None
        if roles <= {Role.PARTNER}:
            raise Http404
        raise PermissionDenied


class PlainAddressMiddleware:
    """Answers 400 to an address that holds a NUL, which PostgreSQL cannot look up."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        if "\x00" in request.path or "%00" in request.META.get("QUERY_STRING", ""):
            return errors.bad_request(request)
        return self.get_response(request)


class BusyMiddleware:
    """Answers 503 in words when the database stays locked longer than anybody should wait."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        return self.get_response(request)

    def process_exception(self, request, exception):
        if isinstance(exception, OperationalError) and "lock" in str(exception).lower():
            return errors.busy(request)
        return None
