"""Papers of erased donors whose years are over: seen, and destroyed by a manager."""

from django.http import HttpRequest, HttpResponse

from clinic.actions.destroy_papers import destroy_papers
from clinic.forms.papers_past_years import DestroyForm
from clinic.queries import papers_past_years as queries
from clinic.views import present
from config.access import gate
from config.acting import tell
from config.days import day_year
from config.refusal import Refusal
from config.render import page, redirect
from config.roles import Role
from ledger.queries import policies

READ, WRITE = {Role.BOOKKEEPER, Role.MANAGER, Role.READER}, {Role.MANAGER}


@gate(read=READ, write=WRITE)
def papers_past_years(request: HttpRequest) -> HttpResponse:
    """Destroy what was chosen, in transactions of its own, since files go too."""
    now = present.read()
    papers = queries.past_years(today=now.today)
    choices = [(one.number, f"No. {one.number}, {one.kind_words}, {day_year(one.issued_on)}") for one in papers]
    form = DestroyForm(request.POST or None, choices=choices)
    if form.is_valid():
        said = {"numbers": form.cleaned_data["numbers"], "why": form.cleaned_data["why"], "by": request.user}
        try:
            destroy_papers(**said, today=now.today, at=now.at)
            return redirect(request, "clinic:papers_past_years")
        except Refusal as refused:
            tell(form, refused)
    return page(
        request,
        "clinic/papers_past_years/page.html",
        papers=papers,
        destroyed=queries.destroyed(),
        years=policies.policy(code="papers_kept", on=now.today),
        form=form,
        may_write=request.user.may(*WRITE),
        status=422 if form.errors else 200,
    )
