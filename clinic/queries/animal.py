"""One animal's page: who it is, where it lies, what is ordered, what was done for it and what that came to."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from clinic.formulas import chips
from clinic.models import Animal, CareItem, House, Observation, Order, Stay
from clinic.queries import bills, in_care, unsigned_care
from clinic.queries.animals import left_words
from clinic.queries.approvals import ApprovalLine, OwnerLine, approvals_of, owner_of
from clinic.queries.bills import BillRow
from clinic.queries.follow_ups import FollowUpLine, of_animal
from clinic.queries.groups import Family, family
from ledger.formulas import money
from ledger.queries import charges, holder, leftovers
from ledger.queries.charges import ChargeLine, Figures, PayerLine
from ledger.queries.leftovers import LeftoverFund

DAYS_SHOWN = 14


@dataclass(frozen=True)
class OrderLine:
    id: int
    name: str
    words: str
    when: str
    since: date
    until: date | None
    stopped_on: date | None


@dataclass(frozen=True)
class CareLine:
    words: str
    by: str
    signed: bool
    detail: str


@dataclass(frozen=True)
class CareDay:
    on: date
    lines: tuple[CareLine, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class StayLine:
    admitted_on: date
    discharged_on: date | None
    left: str
    days: int


@dataclass(frozen=True)
class CorrectionLine:
    words: str  # "name Rusty", "sex male": what stood before
    on: date
    why: str
    by: str


@dataclass(frozen=True)
class KindLine:
    words: str
    cost_minor: int
    usual_minor: int
    asked_minor: int


@dataclass(frozen=True)
class CostSoFar:
    """Signed off by kind and payer, and beside it what is not signed off yet."""

    kinds: tuple[KindLine, ...]
    payers: tuple[PayerLine, ...]
    together: Figures
    given_minor: int
    waiting: KindLine
    lines: tuple[ChargeLine, ...]  # the newest
    digits: int
    currency: str

    @property
    def asked_minor(self) -> int:
        return self.together.asked_minor + self.waiting.asked_minor


@dataclass(frozen=True)
class AnimalPage:
    id: int
    key: str
    number: str
    name: str
    species: str
    sex: str
    age: str
    chip: str
    chip_words: str
    about: str
    warning: str
    partner: str
    partner_id: int | None
    partner_number: str
    place: str
    room: str
    level: str
    in_care: bool
    day: int
    stays: tuple[StayLine, ...]
    orders: tuple[OrderLine, ...]
    days: tuple[CareDay, ...]
    cost: CostSoFar | None
    owner: OwnerLine
    approvals: tuple[ApprovalLine, ...]
    bills: tuple[BillRow, ...]
    corrections: tuple[CorrectionLine, ...]
    family: Family
    follow_ups: tuple[FollowUpLine, ...]
    photo_id: int | None  # the newest
    photo_words: str
    left: tuple[LeftoverFund, ...]  # funds that name an animal which has left, with money in them


def animal(*, animal: Animal, on: date, sees_money: bool, house: House) -> AnimalPage:
    """Read the page of one animal; `cost` is None for those who never see an amount."""
    stays = list(animal.stays.select_related("place__room").order_by("-admitted_on"))
    here = next((stay for stay in stays if _is_here(stay, on)), None)
    lies = in_care.with_levels([here], on)[0] if here else None
    photo = animal.photos.filter(taken_back_at=None).order_by("-taken_on", "-pk").first()
    return AnimalPage(
        id=animal.pk,
        key=animal.key,
        number=animal.number,
        name=animal.name or animal.number,
        species=animal.species,
        sex=animal.get_sex_display() if animal.sex != Animal.Sex.UNKNOWN else "",
        age=age_words(animal.born_on, on),
        chip=animal.chip,
        chip_words=_chip_words(animal.chip),
        about=animal.about,
        warning=animal.warning,
        partner=animal.partner.name if animal.partner else "",
        partner_id=animal.partner_id,
        partner_number=animal.partner_number,
        place=lies.place if lies else "",
        room=lies.room if lies else "",
        level=lies.level.name if lies and lies.level else "",
        in_care=here is not None,
        day=(on - here.admitted_on).days + 1 if here else 0,
        stays=tuple(_stay(stay, on) for stay in stays),
        orders=tuple(_order(order) for order in animal.orders.select_related("service").order_by("stopped_on", "pk")),
        days=_days(animal, on),
        cost=_cost(animal, on, house) if sees_money else None,
        owner=owner_of(animal=animal, on=on),
        approvals=approvals_of(animal=animal) if sees_money else (),
        bills=bills.of_animal(animal=animal) if sees_money else (),
        corrections=_corrections(animal),
        family=family(animal=animal),
        follow_ups=of_animal(animal=animal, on=on),
        photo_id=photo.pk if photo else None,
        photo_words=photo.words if photo else "",
        left=leftovers.of_subject(subject_key=animal.key) if sees_money and stays and not here else (),
    )


def _is_here(stay: Stay, on: date) -> bool:
    return not stay.is_history and (stay.discharged_on is None or stay.discharged_on > on)


def age_words(born_on: date | None, on: date) -> str:
    if born_on is None:
        return ""
    days = (on - born_on).days
    if days < 60:
        return f"{days} days"
    years = days // 365
    return f"about {years} years" if years > 1 else f"about {days // 30} months"


def _chip_words(chip: str) -> str:
    if not chip:
        return ""
    kind = chips.read(text=chip).kind
    return {
        chips.ChipKind.TEST: "a test chip",
        chips.ChipKind.OLDER: "an older chip, not ISO",
        chips.ChipKind.COUNTRY: f"country code {chip[:3]}",
        chips.ChipKind.MAKER: f"maker’s code {chip[:3]}",
    }[kind]


def _corrections(animal: Animal) -> tuple[CorrectionLine, ...]:
    """Return what was said of the animal before, the newest first; what came to an empty place is none."""
    sexes = dict(Animal.Sex.choices)
    return tuple(
        CorrectionLine(
            f"{line.get_what_display()} {sexes.get(line.before, line.before)}", line.on, line.why, line.by.initials
        )
        for line in animal.corrections.select_related("by").order_by("-on", "-pk")
        if line.before not in {"", Animal.Sex.UNKNOWN}
    )


def _stay(stay: Stay, on: date) -> StayLine:
    end = stay.discharged_on or on
    days = max(1, (end - stay.admitted_on).days + (0 if stay.discharged_on else 1))
    return StayLine(stay.admitted_on, stay.discharged_on, left_words(stay.left_to), days)


def _order(order: Order) -> OrderLine:
    every = "" if order.every_days == 1 else f", every {order.every_days} days"
    every += ", for all of the group" if order.for_group_id else ""
    return OrderLine(
        id=order.pk,
        name=order.service.name,
        words=order.words,
        when=", ".join(order.rounds) + every,
        since=order.starts_on,
        until=order.until_on,
        stopped_on=order.stopped_on,
    )


def _days(animal: Animal, on: date) -> tuple[CareDay, ...]:
    """Return the last days of care, the newest first."""
    since = on - timedelta(days=DAYS_SHOWN)
    given: dict[date, dict[tuple[str, bool], list[CareItem]]] = defaultdict(lambda: defaultdict(list))
    items = animal.care_items.filter(on__gt=since, undone_at__isnull=True).select_related("service", "recorded_by")
    for item in items.order_by("recorded_at"):
        given[item.on][item.service.name, item.signing_id is not None].append(item)
    notes: dict[date, list[str]] = defaultdict(list)
    seen = animal.observations.filter(on__gt=since, wound_reading__taken_back_at=None)
    for note in seen.select_related("recorded_by").order_by("recorded_at"):
        notes[note.on].append(f"{_note(note)} ({note.recorded_by.initials})")
    return tuple(
        CareDay(
            day,
            tuple(_care_line(words, signed, found) for (words, signed), found in given[day].items()),
            tuple(notes[day]),
        )
        for day in sorted({*given, *notes}, reverse=True)
    )


def _note(note: Observation) -> str:
    has_figure = note.value is not None and note.kind != Observation.Kind.APPETITE  # its words say it
    scale = f" of {note.maximum.normalize():f}" if note.maximum is not None else ""
    figure = f"{note.value.normalize():f}{scale} {note.unit}".strip() if has_figure else ""
    words = f"{figure} {note.words}".strip()
    return words if note.kind == Observation.Kind.NOTE else f"{note.get_kind_display()}: {words}"


def _care_line(words: str, signed: bool, items: list[CareItem]) -> CareLine:
    quantity = sum(item.quantity for item in items)
    late = ["late entry"] if any(item.late for item in items) else []
    free = ["time given free"] if any(item.given_free for item in items) else []
    return CareLine(
        words=words if quantity == 1 else f"{words} × {quantity.normalize():f}",
        by=", ".join(dict.fromkeys(item.recorded_by.initials for item in items)),
        signed=signed,
        detail=", ".join(late + free),
    )


def _cost(animal: Animal, on: date, house: House) -> CostSoFar:
    currency = holder.holder().currency
    signed = charges.of_subject(subject_key=animal.key)
    waiting = unsigned_care.unsigned_care(animal=animal, since=house.opening_on, until=on, currency=currency)
    return CostSoFar(
        kinds=tuple(
            KindLine(kind.label, kind.cost_minor, kind.usual_minor, kind.asked_minor) for kind in signed.by_kind
        ),
        payers=signed.by_payer,
        together=signed.together,
        given_minor=signed.given_minor,
        waiting=KindLine(
            "Not signed off yet",
            sum(line.cost_minor for line in waiting),
            sum(line.usual_minor for line in waiting),
            sum(line.asked_minor for line in waiting),
        ),
        lines=signed.lines[-40:][::-1],
        digits=money.minor_digits(currency),
        currency=currency,
    )
