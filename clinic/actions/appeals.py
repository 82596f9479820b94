"""Appeals: opened for what an animal needs, and ended by name.

Refusal
└── AppealRefused
    ├── NoFundForIt     no open fund names the animal and says what happens to what is left over
    ├── NeedImpossible  nothing is needed
    ├── AppealStands    one is open already
    └── AppealEnded     it has ended
"""

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from clinic.actions import history
from clinic.models import Animal, Appeal, AppealEnd, User
from config.refusal import Refusal
from ledger.queries.raised import funds_naming


class AppealRefused(Refusal):
    """Nothing was changed."""


class NoFundForIt(AppealRefused):
    field = "fund_id"

    def __init__(self) -> None:
        super().__init__(
            "No open fund names this animal and says what happens to what is left over. Nothing was saved. "
            "Open such a fund first: nobody may be asked for money without that clause."
        )


class NeedImpossible(AppealRefused):
    field = "need_minor"

    def __init__(self) -> None:
        super().__init__("An appeal needs an amount above zero. Nothing was saved.")


class AppealStands(AppealRefused):
    def __init__(self, kept: Appeal) -> None:
        super().__init__(f"An appeal is open since {kept.opened_on}. Nothing was saved. End it first, then open anew.")


class AppealEnded(AppealRefused):
    def __init__(self, kept: AppealEnd) -> None:
        super().__init__(f"This appeal ended on {kept.on}: {kept.why}. Nothing was changed.")


@transaction.atomic
def ask(
    *,
    key: UUID,
    animal: Animal,
    fund_id: int,
    words: str,
    need_minor: int,
    reserve_minor: int,
    by: User,
    on: date,
    at: datetime,
) -> Appeal:
    """Open an appeal; the same form sent again returns what it made.

    :raises AppealRefused: as the tree above says.
    """
    animal = Animal.objects.select_for_update().get(pk=animal.pk)
    if kept := Appeal.objects.filter(key=key).first():
        return kept
    if open_one := animal.appeals.filter(end=None).first():
        raise AppealStands(open_one)
    if need_minor <= 0 or reserve_minor < 0:
        raise NeedImpossible
    if fund_id not in {fund.fund_id for fund in funds_naming(subject_key=animal.key)}:
        raise NoFundForIt
    made = Appeal.objects.create(
        key=key,
        animal=animal,
        fund_id=fund_id,
        words=words,
        need_minor=need_minor,
        reserve_minor=reserve_minor,
        opened_on=on,
        opened_by=by,
        opened_at=at,
    )
    history.note(animal=animal, what="appeal", what_id=made.pk, by=by, at=at, after={"need": need_minor, "for": words})
    return made


@transaction.atomic
def end(*, appeal: Appeal, why: str, by: User, on: date, at: datetime) -> AppealEnd:
    """End an appeal by name: from here on its sheet says that nothing more is asked.

    :raises AppealEnded: when it has ended; the same end sent again is harmless.
    """
    Animal.objects.select_for_update().get(pk=appeal.animal_id)
    if kept := AppealEnd.objects.filter(appeal=appeal).first():
        if kept.why == why:
            return kept
        raise AppealEnded(kept)
    made = AppealEnd.objects.create(appeal=appeal, on=on, why=why, by=by, at=at)
    history.note(animal=appeal.animal, what="appeal_end", what_id=made.pk, by=by, at=at, why=why)
    return made
