"""Every part and state on one page, to be looked at; open only where DEBUG is on."""

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse

from clinic.forms import parts as forms
from clinic.queries import parts as queries
from config.access import gate
from config.render import page
from config.roles import STAFF


@gate(read=STAFF)
def parts(request: HttpRequest) -> HttpResponse:
    if not settings.DEBUG:
        raise Http404
    return page(request, "clinic/parts/parts.html", parts=queries.parts(), form=forms.filled())
