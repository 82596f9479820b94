"""A partner's agreements, shown, made and ended under the key by which the books know the partner."""

from django.http import Http404, HttpRequest, HttpResponse

from config.access import gate
from config.acting import act
from config.render import page, redirect
from ledger.actions import agreements as actions
from ledger.forms.agreements import AgreementForm, EndForm
from ledger.queries.agreements import agreements as read_agreements
from ledger.views import present
from ledger.views.present import READ, WRITE


@gate(read=READ, write=WRITE)
def agreements(request: HttpRequest, party_key: str) -> HttpResponse:
    """Show a partner's agreements and make one."""
    found = read_agreements(party_key=party_key)
    name = found.name or request.GET.get("name", "")[:80]
    form = AgreementForm(request.POST or None, initial={"name": name, "from_on": present.read().today})
    if form.is_valid():
        said = form.cleaned_data
        kept = act(form, lambda: actions.agree(**said, party_key=party_key, by=request.user.id))
        if kept is not None:
            return redirect(request, "ledger:agreements", party_key=party_key)
    return _page(request, party_key, form=form)


@gate(write=WRITE)
def agreement_end(request: HttpRequest, party_key: str) -> HttpResponse:
    end = EndForm(request.POST or None)
    found = read_agreements(party_key=party_key)
    if not end.is_valid() or end.cleaned_data["agreement_id"] not in {row.agreement_id for row in found.terms}:
        if not end.errors:
            raise Http404
        return _page(request, party_key, form=AgreementForm(), end=end)
    kept = act(end, lambda: actions.end(**end.cleaned_data))
    if kept is None:
        return _page(request, party_key, form=AgreementForm(), end=end)
    return redirect(request, "ledger:agreements", party_key=party_key)


def _page(request: HttpRequest, party_key: str, *, form: AgreementForm, end: EndForm | None = None) -> HttpResponse:
    wrong = form.errors or (end and end.errors)
    return page(
        request,
        "ledger/agreements/page.html",
        agreements=read_agreements(party_key=party_key),
        form=form,
        end=end or EndForm(initial={"until_on": present.read().today}),
        may_write=request.user.may(*WRITE),
        status=422 if wrong else 200,
    )
