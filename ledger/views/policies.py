"""The policies of the house: the list in force, and one of them with its story, set by the manager."""

from django.http import Http404, HttpRequest, HttpResponse

from config.access import gate
from config.acting import act
from config.render import page, redirect
from ledger.actions import policies as actions
from ledger.forms.policies import PolicyForm
from ledger.formulas import policies as catalog
from ledger.queries import fund_limits
from ledger.queries import policies as queries
from ledger.views import present
from ledger.views.present import DECIDE, READ, WRITE


@gate(read=READ | WRITE)
def policies(request: HttpRequest) -> HttpResponse:
    on = present.read().today
    found = queries.policies(on=on)
    return page(
        request,
        "ledger/policies/page.html",
        policies=found,
        limits=fund_limits.limits_in_force(on=on),
        on=on,
        may_write=request.user.may(*DECIDE),
    )


@gate(read=READ | WRITE, write=DECIDE)
def policy(request: HttpRequest, code: str) -> HttpResponse:
    now = present.read()
    story = queries.policy_story(code=code, on=now.today)
    if story is None:
        raise Http404
    form = PolicyForm(request.POST or None, policy=catalog.known(code), initial={"from_on": now.today})
    if form.is_valid():
        said = form.cleaned_data
        by = request.user.id
        kept = act(form, lambda: actions.set_policy(**said, code=code, by=by, today=now.today, at=now.at))
        if kept is not None:
            return redirect(request, "ledger:policy", code=code)
    return page(
        request,
        "ledger/policy/page.html",
        story=story,
        form=form,
        may_write=request.user.may(*DECIDE),
        status=422 if form.errors else 200,
    )
