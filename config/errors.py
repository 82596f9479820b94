"""The pages for what goes wrong; none of them needs the database."""

import logging
import secrets

from django.core.exceptions import RequestDataTooBig
from django.http import HttpResponse
from django.template.loader import render_to_string

logger = logging.getLogger(__name__)


def _answer(template: str, status: int, **facts: object) -> HttpResponse:
    return HttpResponse(render_to_string(f"errors/{template}.html", facts), status=status)


def bad_request(request, exception=None):
    if isinstance(exception, RequestDataTooBig):
        return _answer("413", 413)
    return _answer("400", 400)


def forbidden(request, exception=None):
    return _answer("403", 403)


def not_found(request, exception=None):
    return _answer("404", 404)


def server_error(request):
    error_id = secrets.token_hex(4)
    logger.error("error %s at %s", error_id, request.resolver_match and request.resolver_match.view_name)
    return _answer("500", 500, error_id=error_id)


def stale_form(request, reason=""):
    return _answer("stale_form", 403)


def busy(request):
    return _answer("busy", 503)


def locked_out(request, credentials=None, *args, **kwargs):
    return _answer("locked_out", 429)
