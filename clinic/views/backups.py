"""The list of backups. They are made and put back by commands, on the machine itself."""

from django.http import HttpRequest, HttpResponse

from clinic.queries import backups as query
from config.access import gate
from config.render import page
from config.roles import Role


@gate(read={Role.BOOKKEEPER, Role.MANAGER, Role.READER})
def backups(request: HttpRequest) -> HttpResponse:
    return page(request, "clinic/backups/page.html", backups=query.backups())
