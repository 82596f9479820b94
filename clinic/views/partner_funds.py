"""The view by rescue partner, for the house; and "your animals", for a partner's own contact."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from clinic.actions import services
from clinic.forms.partners import PartnerForm
from clinic.models import Partner
from clinic.queries import issued_papers, partner_months
from clinic.queries import partner_funds as query
from clinic.views import present
from config.access import gate
from config.acting import act
from config.fields import PeriodForm
from config.render import page, redirect
from config.roles import Role

READ = {Role.VET, Role.BOOKKEEPER, Role.MANAGER, Role.READER}
WRITE = {Role.BOOKKEEPER, Role.MANAGER}


@gate(read=READ)
def partner_funds(request: HttpRequest) -> HttpResponse:
    now = present.read()
    return page(
        request,
        "clinic/partner_funds/page.html",
        partners=query.partner_funds(on=now.ward),
        may_write=request.user.may(*WRITE),
    )


@gate(read=READ)
def partner(request: HttpRequest, partner_id: int) -> HttpResponse:
    found = get_object_or_404(Partner, pk=partner_id)
    form, facts = _page(request, found)
    return page(
        request,
        "clinic/partner_funds/partner.html",
        status=422 if form.errors else 200,
        partner=facts,
        form=form,
        may_write=request.user.may(*WRITE),
        may_withdraw=request.user.may(Role.MANAGER),
    )


@gate(write=WRITE)
def partner_add(request: HttpRequest) -> HttpResponse:
    now = present.read()
    form = PartnerForm(request.POST or None, initial={"since_on": now.today})
    if form.is_valid():
        added = act(form, lambda: services.add_partner(**form.cleaned_data))
        if added is not None:
            return redirect(request, "clinic:partner", partner_id=added.pk)
    return page(request, "clinic/partner_funds/add.html", form=form, status=422 if form.errors else 200)


@gate(read={Role.PARTNER})
def your_animals(request: HttpRequest) -> HttpResponse:
    """What a partner's contact reads: their own group's animals, what was asked and who paid (F4)."""
    if request.user.partner is None:
        raise Http404
    form, facts = _page(request, request.user.partner)
    return page(
        request,
        "clinic/your_animals/page.html",
        status=422 if form.errors else 200,
        partner=facts,
        form=form,
        papers=issued_papers.all_of_partner(partner=request.user.partner),
        months=partner_months.partner_months(partner=request.user.partner, today=present.read().today),
    )


def _page(request: HttpRequest, found: Partner) -> tuple[PeriodForm, query.PartnerPage]:
    now = present.read()
    first = now.today.replace(day=1)
    form = PeriodForm(request.GET, first=first, last=now.today)
    valid = form.is_valid()
    return form, query.partner_page(
        partner=found,
        from_on=form.cleaned_data["from_on"] if valid else first,
        to_on=form.cleaned_data["to_on"] if valid else now.today,
        on=now.ward,
    )
