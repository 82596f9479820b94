"""An animal's photos: adding one, who agreed to what, withdrawing that, and the picture itself."""

from django import forms as django_forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_POST

from clinic.actions import photos as actions
from clinic.forms import photos as forms
from clinic.models import Animal, Photo, PhotoConsent
from clinic.queries import photos as queries
from clinic.queries.approvals import owner_of
from clinic.views import present
from config import uploads
from config.access import gate
from config.acting import act
from config.render import file as answer_file
from config.render import page, redirect
from config.roles import CARE, Role

READ = {Role.BOOKKEEPER, Role.READER}
CONSENTS = {Role.VET, Role.MANAGER, Role.BOOKKEEPER}


@gate(read=READ, write=CARE)
def photos(request: HttpRequest, animal_id: int) -> HttpResponse:
    """Show an animal's photos, and keep a new one."""
    found, now = get_object_or_404(Animal, pk=animal_id), present.read()
    form = forms.PhotoForm(request.POST or None, request.FILES or None, initial={"taken_on": now.ward})
    if form.is_valid():
        said = dict(form.cleaned_data)
        kept = uploads.taken(form, said.pop("photo"), field="photo", pictures_only=True)
        add = {**said, "animal": found, "file": kept, "by": request.user, "today": now.ward, "at": now.at}
        if kept and act(form, lambda: actions.add(**add)) is not None:
            return redirect(request, "clinic:photos", animal_id=animal_id)
    facts = {"animal": found, "form": form, "photos": queries.photos_of(animal=found, on=now.ward)}
    may = {"may_write": request.user.may(*CARE), "may_consent": request.user.may(*CONSENTS)}
    return page(request, "clinic/photos/page.html", **facts, **may, status=422 if form.errors else 200)


@gate(read=READ | CARE)
def photo_file(request: HttpRequest, photo_id: int) -> HttpResponse:
    """Serve the picture to who may read of care; one that was taken back is served to nobody."""
    photo = get_object_or_404(Photo, pk=photo_id, taken_back_at=None)
    content = uploads.read(sha256=photo.sha256, content_type=photo.content_type)
    if content is None:
        raise Http404
    name = f"photo-{photo.pk}.{uploads.ENDINGS[photo.content_type]}"
    return answer_file(content, filename=name, content_type=photo.content_type, inline=True)


@require_POST
@gate(write=CARE)
def photo_take_back(request: HttpRequest, photo_id: int) -> HttpResponse:
    photo, now = get_object_or_404(Photo, pk=photo_id), present.read()
    form = django_forms.Form(request.POST)
    act(form, lambda: actions.take_back(photo=photo, by=request.user, at=now.at))
    return redirect(request, "clinic:photos", animal_id=photo.animal_id)


@gate(write=CONSENTS)
def photo_consent(request: HttpRequest, photo_id: int) -> HttpResponse:
    """Record who agreed to what is done with a photo."""
    photo = get_object_or_404(Photo.objects.select_related("animal__partner"), pk=photo_id, taken_back_at=None)
    now = present.read()
    owner = owner_of(animal=photo.animal, on=now.today)
    form = forms.PhotoConsentForm(request.POST or None, initial={"from_on": now.today, "owner_said": owner.words})
    if form.is_valid():
        said = form.cleaned_data
        made = act(form, lambda: actions.consent(photo=photo, **said, by=request.user, today=now.today, at=now.at))
        if made is not None:
            return redirect(request, "clinic:photos", animal_id=photo.animal_id)
    facts = {"animal": photo.animal, "photo": photo.pk, "owner": owner, "form": form}
    return page(request, "clinic/photos/consent.html", **facts, status=422 if form.errors else 200)


@gate(write=CONSENTS)
def photo_withdraw(request: HttpRequest, consent_id: int) -> HttpResponse:
    consent = get_object_or_404(PhotoConsent.objects.select_related("photo__animal"), pk=consent_id)
    now, animal = present.read(), consent.photo.animal
    form = forms.PhotoWithdrawForm(request.POST or None, initial={"on": now.today})
    if form.is_valid():
        said = form.cleaned_data
        if act(form, lambda: actions.withdraw(consent=consent, **said, by=request.user, at=now.at)) is not None:
            return redirect(request, "clinic:photos", animal_id=animal.pk)
    facts = {"animal": animal, "photo": consent.photo_id, "form": form}
    return page(request, "clinic/photos/withdraw.html", **facts, status=422 if form.errors else 200)
