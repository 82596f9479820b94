"""What a month leaves open, each thing one step from its mend (H3)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.urls import reverse

from clinic.models import House
from clinic.queries import bills, needs
from clinic.queries.unsigned_days import waiting
from config import home
from config.charts.drawing import written
from config.days import day_year
from ledger.queries.month_end import CarriedLine, OpenItems

MOST_NAMES = 6


@dataclass(frozen=True, kw_only=True)
class Item:
    """One thing of H3. `thing` is the word by which it is carried, empty where it needs none or cannot be."""

    count: int
    words: str
    detail: str
    whose: str
    verb: str
    address: str
    thing: str = ""
    carried: CarriedLine | None = None
    must_be_decided: bool = False

    @property
    def is_done(self) -> bool:
        return not self.count

    @property
    def is_open(self) -> bool:
        return bool(self.count) and self.carried is None


def month_end_items(found: OpenItems, *, first: date, house: House) -> tuple[Item, ...]:
    """Return the things of a month's end in the order of the page, those that are done among them."""
    return (
        _days(found.through_on, house),
        _care(found),
        _bills(found),
        _sites(found),
        _bank(found),
        _funds(),
        _waiting(found),
        *_gifts(found, first),
        _goods(found),
    )


def _days(through_on: date, house: House) -> Item:
    days = waiting(today=through_on, house=house)
    names = [f"{day.on:%B} {day.on.day}" for day in days]
    return Item(
        count=len(days),
        words="day not signed off" if len(days) == 1 else "days not signed off",
        detail=f"{_names(names)}. Their care is posted on the day it is signed, its day of care kept."
        if days
        else "Every day of the month is signed off.",
        whose="manager",
        verb="Read and sign",
        address=reverse("clinic:sign_off", args=[days[0].on]) if len(days) == 1 else reverse("clinic:days_to_sign"),
    )


def _care(found: OpenItems) -> Item:
    names = [row.animal.subject_words for row in found.unpaid]
    open_rows = len(found.undecided)
    return Item(
        count=len(names),
        words="animal with care nobody has paid" if len(names) == 1 else "animals with care nobody has paid",
        detail=f"{_amount(found.unpaid_minor)} in all: {_names(names)}. "
        + ("Each is decided, or carried by name." if open_rows else "Each was carried by name.")
        if names
        else "All care of the month has its payer.",
        whose="manager",
        verb="Find a payer",
        address=reverse("clinic:unpaid_care"),
        carried=None if open_rows or not names else found.unpaid[0].carried,
        must_be_decided=True,
    )


def _bills(found: OpenItems) -> Item:
    rows = [row for row in bills.to_check() if row.care_on <= found.through_on]
    return Item(
        count=len(rows),
        words="bill to check" if len(rows) == 1 else "bills to check",
        detail=_names([f"{row.sender} for {row.animal}" for row in rows]) + "."
        if rows
        else "Every bill is accepted, or was given by its sender.",
        whose="bookkeeper",
        verb="Check it" if len(rows) == 1 else "Check them",
        address=reverse("clinic:bill", args=[rows[0].id]) if len(rows) == 1 else reverse("clinic:bills"),
        thing="bills",
        carried=found.carried_as("bills"),
    )


def _sites(found: OpenItems) -> Item:
    return Item(
        count=len(found.at_sites),
        words="fund with money at a giving site" if len(found.at_sites) == 1 else "funds with money at giving sites",
        detail=f"{_amount(found.at_sites_minor)} not paid out: {_names([row.fund_name for row in found.at_sites])}."
        if found.at_sites
        else "Everything that giving sites collected has reached the bank.",
        whose="bookkeeper",
        verb="Record a payout",
        address=reverse("ledger:payout_record"),
        thing="sites",
        carried=found.carried_as("sites"),
    )


def _bank(found: OpenItems) -> Item:
    left, reach = found.bank_left, found.bank_reaches
    facts = {
        "whose": "bookkeeper",
        "verb": "Bank",
        "address": reverse("ledger:bank"),
        "thing": "bank",
        "carried": found.carried_as("bank"),
    }
    if left:
        told = _names([f"{line.who or line.words or 'a line'} {_amount(line.amount_minor)}" for line in left])
        words = f"{'line' if len(left) == 1 else 'lines'} of the bank with nothing in the books"
        return Item(count=len(left), words=words, detail=f"{told}.", **facts)
    if reach is not None and found.bank_is_short:
        told = f"The statements reach to {day_year(reach)}."
        return Item(count=1, words="statement of the bank to bring", detail=told, **facts)
    told = "Something stands in the books for every line." if reach else "No statement of the bank has come."
    return Item(count=0, words="lines of the bank with nothing in the books", detail=told, **facts)


def _funds() -> Item:
    """The books take no gift without its fund, so none can stand here."""
    return Item(
        count=0,
        words="gifts without a fund",
        detail="Every gift names its fund when it is recorded.",
        whose="bookkeeper",
        verb="Gifts",
        address=reverse("ledger:gifts"),
    )


def _waiting(found: OpenItems) -> Item:
    return Item(
        count=found.waiting,
        words="gift that waits" if found.waiting == 1 else "gifts that wait",
        detail="Rows of gift files that could not be recorded, each with its reason."
        if found.waiting
        else "No row of a gift file waits.",
        whose="bookkeeper",
        verb="Gifts that wait",
        address=reverse("ledger:waiting_gifts"),
        thing="waiting",
        carried=found.carried_as("waiting"),
    )


def _gifts(found: OpenItems, first: date) -> tuple[Item, Item]:
    back, due = found.taken_back, found.receipts
    return (
        Item(
            count=len(back),
            words="gift returned or taken back" if len(back) == 1 else "gifts returned or taken back",
            detail=_names([f"entry {row.entry_number}, {row.words} {row.on:%B} {row.on.day}" for row in back]) + "."
            if back
            else "No gift went back.",
            whose="bookkeeper",
            verb="Read them" if len(back) != 1 else "Read it",
            address=reverse("ledger:entry", args=[back[0].entry_number]) if len(back) == 1 else reverse("ledger:gifts"),
            thing="returned",
            carried=found.carried_as("returned"),
        ),
        Item(
            count=due.gifts,
            words="gift of a known donor" if due.gifts == 1 else "gifts of known donors",
            detail=f"{_amount(due.amount_minor)} of {due.donors} {'donor' if due.donors == 1 else 'donors'}: "
            "a receipt or a letter is due for each, unless it was sent."
            if due.gifts
            else "No gift of a known donor came in.",
            whose="bookkeeper",
            verb="Papers",
            address=f"{reverse('clinic:papers')}?from_on={first}&to_on={found.through_on}",
            thing="receipts",
            carried=found.carried_as("receipts"),
        ),
    )


def _goods(found: OpenItems) -> Item:
    return Item(
        count=1 if found.goods_minor else 0,
        words="store of donated goods to count",
        detail=f"{_amount(found.goods_minor)} on hand at fair value, as the books say. Count them, or carry it."
        if found.goods_minor
        else "No donated goods are on hand.",
        whose="bookkeeper",
        verb="Donated goods",
        address=reverse("ledger:fund", args=[found.goods_fund_id]) if found.goods_fund_id else reverse("ledger:funds"),
        thing="goods",
        carried=found.carried_as("goods"),
    )


def _amount(amount_minor: int) -> str:
    return written(amount_minor, home.digits())


def _names(words: list[str]) -> str:
    return needs.names(words, most=MOST_NAMES)
