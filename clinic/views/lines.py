"""One line of care told whole and corrected, and who paid for one animal, on screen, as a PDF and as a file."""

from datetime import date
from decimal import Decimal

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from clinic.actions import line_corrections
from clinic.forms.lines import CorrectionForm
from clinic.models import Animal
from clinic.queries import line_story as stories
from clinic.queries import who_paid as query
from clinic.views import present
from config import render
from config.access import gate
from config.acting import act
from config.exports import Sheet
from config.fields import PeriodForm
from config.render import page, redirect
from config.roles import Role
from ledger.formulas import money

READ = {Role.VET, Role.BOOKKEEPER, Role.MANAGER, Role.READER}
CORRECT = {Role.VET, Role.MANAGER}


@gate(read=READ)
def line(request: HttpRequest, number: int) -> HttpResponse:
    return page(request, "clinic/line/page.html", story=_story(number), may_correct=request.user.may(*CORRECT))


@gate(write=CORRECT)
def line_correct(request: HttpRequest, number: int) -> HttpResponse:
    story, now = _story(number), present.read()
    form = CorrectionForm(request.POST or None, initial={"quantity": f"{story.money.line.quantity.normalize():f}"})
    if form.is_valid():
        said = form.cleaned_data
        done = act(
            form,
            lambda: line_corrections.correct_line(
                **said, number=number, by=request.user, house=now.house, today=now.today, at=now.at
            ),
        )
        if done is not None:
            return redirect(request, "clinic:line", number=done.line.entry_number if done.line else number)
    return page(request, "clinic/line/correct.html", story=story, form=form, status=422 if form.errors else 200)


@gate(read=READ)
def who_paid(request: HttpRequest, animal_id: int) -> HttpResponse:
    form, paid = _paid(request, animal_id)
    return page(request, "clinic/who_paid/page.html", paid=paid, form=form, status=422 if form.errors else 200)


@gate(read=READ)
def who_paid_pdf(request: HttpRequest, animal_id: int) -> HttpResponse:
    _, paid = _paid(request, animal_id)
    name = f"who-paid-{paid.number}-{paid.from_on}-{paid.to_on}.pdf"
    return render.pdf("clinic/who_paid/print.html", filename=name, paid=paid, paper_size=paid.paper)


@gate(read=READ)
def who_paid_lines(request: HttpRequest, animal_id: int, kind: str) -> HttpResponse:
    """Every line with what each group of payers pays of it, as a file."""
    _, paid = _paid(request, animal_id)
    codes = [group.code for group in paid.money.groups]
    heads = ["Day of care", "Entry", "Care", "Quantity", "Asked", *codes]
    rows = [
        [
            one.care_on.isoformat(),
            one.entry_number,
            one.words,
            Decimal(one.quantity_thousandths) / 1000,
            money.from_minor(one.asked_minor, paid.currency),
            *(money.from_minor(one.of(code), paid.currency) for code in codes),
        ]
        for one in paid.money.lines
    ]
    name = f"who-paid-{paid.number}-{paid.from_on}-{paid.to_on}"
    sheet = Sheet(title=f"Who paid, {paid.number}", heads=heads, rows=rows)
    return render.tables(sheet, filename=name, kind=kind)


def _story(number: int) -> stories.LineStory:
    story = stories.line_story(number=number, house=present.read().house)
    if story is None:
        raise Http404
    return story


def _paid(request: HttpRequest, animal_id: int) -> tuple[PeriodForm, query.WhoPaid]:
    return paid_of(request, get_object_or_404(Animal.objects.select_related("partner"), pk=animal_id))


def paid_of(request: HttpRequest, animal: Animal) -> tuple[PeriodForm, query.WhoPaid]:
    """Read the period that is asked for, and who paid for the animal in it."""
    now = present.read()
    first: date = now.house.opening_on
    form = PeriodForm(request.GET, first=first, last=now.today)
    valid = form.is_valid()
    return form, query.who_paid(
        animal=animal,
        from_on=form.cleaned_data["from_on"] if valid else first,
        to_on=form.cleaned_data["to_on"] if valid else now.today,
        today=now.today,
        house=now.house,
    )
