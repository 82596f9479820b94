"""Rooms, places and boarding levels: what the ward consists of."""

from django.http import HttpRequest, HttpResponse

from clinic.actions import services
from clinic.forms.places import LevelForm, RoomForm
from clinic.models import BoardingLevel, Room
from clinic.queries import places as query
from clinic.views import present
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import CARE, Role

READ = {Role.BOOKKEEPER, Role.READER} | CARE
WRITE = {Role.VET, Role.MANAGER}


@gate(read=READ)
def places(request: HttpRequest) -> HttpResponse:
    found = query.places(on=present.read().ward)
    return page(request, "clinic/places/page.html", places=found, may_write=request.user.may(*WRITE))


@gate(write=WRITE)
def room_add(request: HttpRequest) -> HttpResponse:
    form = RoomForm(request.POST or None)
    if form.is_valid():
        made = act(form, lambda: services.add_room(**form.cleaned_data, position=Room.objects.count()))
        if made is not None:
            return redirect(request, "clinic:places")
    return page(request, "clinic/places/room.html", form=form, status=422 if form.errors else 200)


@gate(write=WRITE)
def level_add(request: HttpRequest) -> HttpResponse:
    form = LevelForm(request.POST or None)
    if form.is_valid():
        made = act(
            form, lambda: services.add_boarding_level(**form.cleaned_data, position=BoardingLevel.objects.count())
        )
        if made is not None:
            return redirect(request, "clinic:places")
    return page(request, "clinic/places/level.html", form=form, status=422 if form.errors else 200)
