"""One box finds an animal by any name or number, a paper by its number, a line by amount or date."""

import re
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet
from django.urls import reverse

from clinic.models import Animal, AnimalCorrection
from clinic.queries import issued_papers
from config import figures
from config.days import day_year
from ledger.formulas import money
from ledger.queries import charges, holder

MOST = 20


@dataclass(frozen=True)
class Found:
    kind: str  # "animal", "line", "day", "paper"
    words: str
    detail: str
    address: str
    amount_minor: int | None = None


@dataclass(frozen=True)
class Finding:
    asked: str
    found: tuple[Found, ...]
    more: bool
    money_too: bool


def find(*, asked: str, money_too: bool) -> Finding:
    """Look `asked` up; amounts are searched only for those who may see one."""
    asked = " ".join(asked.split())
    found: list[Found] = []
    if asked:
        found += _animals(asked)
        found += _days(asked)
        if money_too:
            found += _papers(asked)
            found += _amounts(asked)
    return Finding(asked=asked, found=tuple(found[:MOST]), more=len(found) > MOST, money_too=money_too)


def _animals(asked: str) -> list[Found]:
    digits = re.sub(r"[\s-]", "", asked)
    rows = (
        Animal.objects.filter(
            Q(name__icontains=asked)
            | Q(pk__in=_called_before(asked, digits).values("animal"))
            | Q(number__iexact=asked)
            | Q(partner_number__iexact=asked)
            | (Q(chip=digits) if digits.isdigit() else Q(pk=None))
        )
        .select_related("partner")
        .prefetch_related("corrections")
        .order_by("name", "number")[: MOST + 1]
    )
    return [
        Found(
            "animal",
            animal.name or "no name yet",
            ", ".join(
                part
                for part in (
                    animal.species,
                    animal.number,
                    f"{animal.partner.name} {animal.partner_number}".strip() if animal.partner else "",
                    _earlier(animal),
                )
                if part
            ),
            reverse("clinic:animal", args=[animal.pk]),
        )
        for animal in rows
    ]


def _earlier(animal: Animal) -> str:
    names = [line.before for line in animal.corrections.all() if line.what == "name" and line.before]
    return f"earlier {', '.join(names)}" if names else ""


def _called_before(asked: str, digits: str) -> QuerySet[AnimalCorrection]:
    """Return what an animal was called before, or carried as its number or chip."""
    what = AnimalCorrection.What
    return AnimalCorrection.objects.filter(
        Q(what=what.NAME, before__icontains=asked)
        | Q(what=what.PARTNER_NUMBER, before__iexact=asked)
        | (Q(what=what.CHIP, before=digits) if digits.isdigit() else Q(pk=None))
    )


def _days(asked: str) -> list[Found]:
    try:
        day = date.fromisoformat(asked)
    except ValueError:
        return []
    return [Found("day", f"Ward sheet of {day_year(day)}", "", reverse("clinic:ward_sheet", args=[day]))]


def _papers(asked: str) -> list[Found]:
    paper = issued_papers.issued_paper(number=asked.lower().removeprefix("no.").strip())
    if paper is None:
        return []
    days = f"{paper.from_on:%B} {paper.from_on.day} to {day_year(paper.to_on)}"
    words = f"No. {paper.number}, {paper.kind_words}"
    address = reverse("clinic:issued_paper", args=[paper.number])
    return [Found("paper", words, f"{paper.whose}, {days}", address)]


def _amounts(asked: str) -> list[Found]:
    amount = figures.figure(asked.replace(",", ""))
    if amount is None or abs(amount) > 10**9:
        return []
    amount_minor = money.to_minor(amount, holder.holder().currency)
    lines = charges.by_amount(amount_minor=amount_minor, most=MOST)
    names = {animal.key: animal for animal in Animal.objects.filter(key__in={line.subject_key for line in lines})}
    return [
        Found(
            "line",
            f"{names[line.subject_key].name or names[line.subject_key].number}, {line.words}",
            day_year(line.care_on),
            reverse("clinic:animal", args=[names[line.subject_key].pk]),
            line.asked_minor,
        )
        for line in lines
        if line.subject_key in names
    ]
