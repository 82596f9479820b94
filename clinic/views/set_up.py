"""The set-up page of a real clinic: open only while no house stands, and only with the one-time code."""

from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters

from clinic.actions import set_up as actions
from clinic.forms.set_up import SetUpForm
from clinic.models import House
from config import clock
from config.acting import act
from config.render import page, redirect

BACKEND = "django.contrib.auth.backends.ModelBackend"


@sensitive_post_parameters("password", "code")
@never_cache
@login_not_required
def set_up(request: HttpRequest) -> HttpResponse:
    if House.objects.exists():
        raise Http404
    form = SetUpForm(request.POST or None)
    if form.is_valid():
        said = form.cleaned_data
        manager = act(
            form,
            lambda: actions.set_up(
                code=said["code"],
                house_name=said["house_name"],
                address=said["address"],
                time_zone=said["time_zone"],
                ward_turns_at=said["ward_turns_at"],
                opening_on=said["opening_on"],
                books=actions.Books(**form.books()),
                manager=actions.FirstManager(**form.manager()),
                today=clock.today(said["time_zone"]),
                at=clock.now(),
            ),
        )
        if manager is not None:
            login(request, manager, backend=BACKEND)
            return redirect(request, "clinic:home")
    return page(request, "clinic/set_up/set_up.html", form=form, status=422 if form.errors else 200)
