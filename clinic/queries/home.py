"""The first page: what needs a person, by role, and two pictures of where the house stands."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Min
from django.urls import reverse

from clinic.models import BoardingLevel, EveningSeen, House, Service, Stay
from clinic.queries import backups
from clinic.queries import prices as price_query
from clinic.queries import ward_sheet as sheet_query
from clinic.queries.due_decisions import due_decisions
from clinic.queries.needs import Need, names
from clinic.queries.needs_of_disputes import need_of_disputes
from clinic.queries.needs_of_follow_up import needs_of_follow_up
from clinic.queries.needs_of_gifts import need_of_waiting_gifts
from clinic.queries.needs_of_medical_lines import need_of_medical_lines
from clinic.queries.needs_of_papers import need_of_letters
from clinic.queries.needs_of_shelf import needs_of_shelf
from clinic.queries.not_given import not_given
from clinic.queries.occupancy import occupancy
from clinic.queries.unsigned_days import waiting
from config import charts
from config.charts.drawing import written
from config.roles import CARE, MONEY, Role
from ledger.queries import fund_choices, holder, unpaid_care

NIGHTS = 30
EVENINGS = 7  # so far back it asks whether all were seen
COUNT_ROLES = frozenset({Role.WARD, Role.MANAGER, Role.BOOKKEEPER})


@dataclass(frozen=True)
class Home:
    on: date
    house: str
    needs: tuple[Need, ...]
    in_care: int
    occupancy: charts.Chart | None
    money: charts.Chart | None

    @property
    def late(self) -> int:
        return sum(need.count for need in self.needs if need.late)

    @property
    def due(self) -> int:
        return sum(need.count for need in self.needs if not need.late)


def home(*, on: date, moment: datetime, house: House, roles: frozenset[Role]) -> Home:
    """Return what the holder of `roles` should know first; amounts only for those who may see one."""
    sheet = sheet_query.ward_sheet(on=on, today=on, moment=moment, house=house)
    needs: list[Need | None] = []
    if roles & (CARE | {Role.READER}):
        needs += [_overdue(sheet), _due(sheet), _not_given(on, house), _evenings(on, house), *needs_of_follow_up(on=on)]
    if roles & {Role.VET, Role.MANAGER, Role.BOOKKEEPER, Role.READER}:
        needs += [
            _to_sign(on, house),
            _unpaid(may_decide=Role.MANAGER in roles),
            _levels(),
            _prices(on),
            _old_prices(on),
        ]
    if roles & (COUNT_ROLES | {Role.VET, Role.READER}):
        needs += needs_of_shelf(on=on, may_count=bool(roles & COUNT_ROLES))
    if roles & {Role.VET, Role.MANAGER}:
        needs.append(_decisions(on, house))
    if Role.VET in roles:
        needs.append(need_of_medical_lines(on=on))
    if Role.MANAGER in roles:
        needs.append(need_of_disputes())
    if Role.BOOKKEEPER in roles:
        needs += [need_of_letters(on=on), need_of_waiting_gifts()]
    if roles & {Role.MANAGER, Role.BOOKKEEPER}:
        needs.append(_backup(moment))
    return Home(
        on=on,
        house=house.name,
        needs=tuple(sorted((need for need in needs if need), key=lambda need: not need.late)),
        in_care=sheet.in_care,
        occupancy=occupancy(first=on - timedelta(days=NIGHTS), last=on - timedelta(days=1)),
        money=_money() if roles & MONEY else None,
    )


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."


def _overdue(sheet) -> Need | None:
    late = [f"{due.name.lower()} for {row.name}" for row in sheet.rows for due in row.dues if due.state == "over"]
    return late and Need(
        len(late),
        "order overdue" if len(late) == 1 else "orders overdue",
        _sentence(names(late)),
        "ward",
        "Open the sheet",
        reverse("clinic:ward_sheet", args=[sheet.on]),
        True,
    )


def _due(sheet) -> Need | None:
    count = sum(len(row.now_due) for row in sheet.rows)
    return (
        Need(
            count,
            "tick due this round" if count == 1 else "ticks due this round",
            f"The {sheet.round} round: {sheet.made} of {sheet.ordered} ticks of the day are made.",
            "ward",
            "Go on the round",
            reverse("clinic:ward_sheet", args=[sheet.on]),
            False,
        )
        if count
        else None
    )


def _not_given(on: date, house: House) -> Need | None:
    """The orders of the last days of which nothing is written down, whether or not the day was signed off."""
    missing = not_given(today=on, opening_on=house.opening_on)
    count = sum(len(one.rounds) for one in missing)
    said = [f"{one.name.lower()} for {one.animal} on {one.on:%A} {' and '.join(one.rounds)}" for one in missing]
    return (
        Need(
            count,
            "order of past days not written down" if count == 1 else "orders of past days not written down",
            f"{_sentence(names(said, 3))} {'Was it' if count == 1 else 'Were they'} given?",
            "ward",
            "Days side by side",
            reverse("clinic:missed_days", args=[on - timedelta(days=1)]),
            True,
        )
        if missing
        else None
    )


def _evenings(on: date, house: House) -> Need | None:
    """The evenings of the last week when somebody was in care and nobody confirmed it, the oldest first."""
    first = max(on - timedelta(days=EVENINGS), house.opening_on)
    days = [first + timedelta(days=number) for number in range((on - first).days)]
    stays = Stay.objects.filter(admitted_on__lt=on, is_history=False).exclude(discharged_on__lte=first)
    spans = list(stays.values_list("admitted_on", "discharged_on"))
    seen = set(EveningSeen.objects.filter(sheet__on__in=days).values_list("sheet__on", flat=True))
    open_days = [
        day
        for day in days
        if day not in seen and any(came <= day and (left is None or day < left) for came, left in spans)
    ]
    return (
        Need(
            len(open_days),
            "evening not confirmed" if len(open_days) == 1 else "evenings not confirmed",
            f"{names([f'{day:%A}' for day in open_days], EVENINGS)}: nobody has written that all were seen.",
            "ward",
            "Open the sheet",
            reverse("clinic:ward_sheet", args=[open_days[0]]),
            True,
        )
        if open_days
        else None
    )


def _to_sign(on: date, house: House) -> Need | None:
    days = [day for day in waiting(today=on, house=house) if day.on < on]
    late = any(day.on < on - timedelta(days=1) for day in days)
    return (
        Need(
            len(days),
            "day to sign" if len(days) == 1 else "days to sign",
            names([f"{day.on:%A, %B} {day.on.day}: {day.rows} animals" for day in days], 3) + ".",
            "manager",
            "Read and sign",
            reverse("clinic:sign_off", args=[days[0].on]) if len(days) == 1 else reverse("clinic:days_to_sign"),
            late,
        )
        if days
        else None
    )


def _decisions(on: date, house: House) -> Need | None:
    due = due_decisions(on=on, house=house)
    only = reverse("clinic:path", args=[due[0].path_id]) if len(due) == 1 else reverse("clinic:paths")
    return (
        Need(
            len(due),
            "path to decide" if len(due) == 1 else "paths to decide",
            names([f"{one.animal}: {one.words}" for one in due], 3) + ".",
            "vet, manager",
            "Read and decide",
            only,
            True,
        )
        if due
        else None
    )


def _unpaid(*, may_decide: bool) -> Need | None:
    animals = unpaid_care.unpaid_animals()
    digits = holder.holder().digits
    total = sum(animal.amount_minor for animal in animals)
    return (
        Need(
            len(animals),
            "animal with unpaid care" if len(animals) == 1 else "animals with unpaid care",
            f"{written(total, digits)} in all, the oldest from {animals[0].oldest_on:%A, %B} "
            f"{animals[0].oldest_on.day}: {names([animal.subject_words for animal in animals])}.",
            "manager",
            "Find a payer" if may_decide else "Read the list",
            reverse("clinic:unpaid_care"),
            True,
        )
        if animals
        else None
    )


def _levels() -> Need | None:
    """A house that has just been set up has no level yet, and cannot admit."""
    if BoardingLevel.objects.exists():
        return None
    return Need(
        1,
        "boarding level to name",
        "Every night is charged at a level, so the first animal waits for the first one.",
        "manager",
        "Rooms and levels",
        reverse("clinic:places"),
        False,
    )


def _prices(on: date) -> Need | None:
    services = Service.objects.filter(retired_on__isnull=True).annotate(first_on=Min("prices__starts_on"))
    since = list(services.order_by("name").values_list("name", "first_on"))
    missing = [name for name, first_on in since if first_on is None or first_on > on]
    if since and not missing:
        return None
    return Need(
        max(len(missing), 1),
        "service without a price" if len(missing) == 1 else "services without a price" if missing else "price list",
        names(missing) + ". A row with one of them cannot be signed off."
        if missing
        else "Nothing has a price yet: what it costs, what a client would pay, what the funds are asked.",
        "bookkeeper",
        "Prices",
        reverse("clinic:prices"),
        False,
    )


def _old_prices(on: date) -> Need | None:
    old = price_query.old_prices(on=on)
    return (
        Need(
            len(old),
            "price older than twelve months" if len(old) == 1 else "prices older than twelve months",
            f"{names(list(old))}. Copy the list forward, with or without a percentage.",
            "bookkeeper",
            "Prices",
            reverse("clinic:prices"),
            False,
        )
        if old
        else None
    )


def _backup(moment: datetime) -> Need | None:
    missing = backups.overdue(moment=moment)
    if missing is None:
        return None
    last = f"The last one is {_days(missing.days)} old" if missing.last_at else "There has never been one"
    return Need(
        1,
        "backup to make",
        f"{last}. Were this machine lost tonight, so would be all that was written since.",
        "manager, bookkeeper",
        "Backups",
        reverse("clinic:backups"),
        True,
    )


def _days(count: int) -> str:
    return "a day" if count == 1 else f"{count} days"


def _money() -> charts.Chart | None:
    rows = [
        charts.Bar(words=fund.name, amount_minor=fund.balance_minor, empty="" if fund.balance_minor > 0 else "empty")
        for fund in fund_choices.fund_choices()
        if fund.pays_care
    ]
    return charts.bars(
        name="money",
        title="Money available, by fund",
        desc="What each fund has now.",
        rows=sorted(rows, key=lambda row: -row.amount_minor),
        heads=("Fund", "Available"),
        digits=holder.holder().digits,
    )
