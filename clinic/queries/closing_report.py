"""The report of a closing: the figures as of its entry, the policies in force, and whose hands did what (H3)."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from clinic.models import Animal, CareItem, House
from clinic.queries.alike_items import charge_key, together
from clinic.queries.month_end import title_of
from clinic.queries.paper_head import Headed, paper_head
from config import home
from ledger.queries import activity, charges, hands, month_end, periods, policies, reports, roll_forward
from ledger.queries.activity import Activity
from ledger.queries.periods import ClosingLine
from ledger.queries.policies import PolicyInForce
from ledger.queries.roll_forward import RollForward
from ledger.queries.trial_balance import TrialBalance, trial_balance


@dataclass(frozen=True, kw_only=True)
class OneHand:
    """Care that one person recorded and signed off, and payments that the same person made in the month."""

    name: str
    lines: int
    asked_minor: int
    entries: str
    payments: int
    paid_minor: int


@dataclass(frozen=True, kw_only=True)
class CarriedRow:
    name: str
    by: str
    on: date
    why: str
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class ClosingReport(Headed):
    closing: ClosingLine
    title: str
    from_on: date
    roll: RollForward
    balance: TrialBalance
    activity: Activity
    policies: tuple[PolicyInForce, ...]
    carried: tuple[CarriedRow, ...]
    one_hand: tuple[OneHand, ...]
    recorded_and_signed: int

    @property
    def runner(self) -> str:
        return f"Closing report, {self.title}"

    @property
    def right(self) -> str:
        return f"Entry {self.closing.entry_number}"


def closing_report(*, number: int, house: House) -> ClosingReport | None:
    """Return the report of the closing of this entry number; the same figures whenever it is asked for."""
    closing = periods.closing(number=number)
    if closing is None:
        return None
    first = closing.from_on or periods.begun_on() or closing.through_on
    scope = reports.scope(from_on=first, to_on=closing.through_on, as_of=number)
    found, alone = _hands(first, closing.through_on, number)
    return ClosingReport(
        head=paper_head(house),
        closing=closing,
        title=title_of(first, closing.through_on),
        from_on=first,
        roll=roll_forward.roll_forward(scope=scope),
        balance=trial_balance(scope=scope),
        activity=activity.activity(scope=scope),
        policies=policies.policies(on=closing.through_on),
        carried=_carried(closing),
        one_hand=found,
        recorded_and_signed=alone,
    )


def _carried(closing: ClosingLine) -> tuple[CarriedRow, ...]:
    lines = month_end.carried_through(through_on=closing.through_on, until=closing.closed_at)
    animals = dict(Animal.objects.filter(key__in=[line.subject_key for line in lines]).values_list("key", "name"))
    return tuple(
        CarriedRow(
            name=f"{animals[line.subject_key]}: {line.words}" if animals.get(line.subject_key) else line.told,
            by=line.by,
            on=line.on,
            why=line.why,
            amount_minor=line.amount_minor,
        )
        for line in lines
    )


def _hands(first: date, last: date, as_of: int) -> tuple[tuple[OneHand, ...], int]:
    """Return, by person, what one hand recorded, signed and paid, and how many lines one hand recorded and signed."""
    payments = hands.payments(from_on=first, to_on=last, as_of=as_of)
    by_person: dict[int, list] = defaultdict(list)
    for person, key in _recorded_and_signed(first, last):
        by_person[person].append(key)
    posted = charges.of_keys(slip_keys=[key for person in payments for key in by_person.get(person, ())])
    rows = []
    for person, paid in payments.items():
        lines = [posted[key] for key in by_person.get(person, ()) if key in posted]
        if lines:
            numbers = sorted(line.entry_number for line in lines)
            rows.append(
                OneHand(
                    name=home.person(person),
                    lines=len(lines),
                    asked_minor=sum(line.asked_minor for line in lines),
                    entries=spans(numbers),
                    payments=paid.entries,
                    paid_minor=paid.amount_minor,
                )
            )
    return tuple(sorted(rows, key=lambda row: row.name)), sum(len(keys) for keys in by_person.values())


def _recorded_and_signed(first: date, last: date):
    """Yield (person, slip key) for each line whose ticks were all made by the person who signed them off."""
    items = (
        CareItem.objects.filter(on__range=(first, last), signing__isnull=False, undone_at__isnull=True)
        .select_related("signing")
        .order_by("on", "animal_id", "recorded_at", "pk")
    )
    for (on, _), found in groupby(items, key=lambda item: (item.on, item.animal_id)):
        for alike in together(list(found)):
            signer = alike[0].signing.by_id
            if all(item.recorded_by_id == signer for item in alike):
                yield signer, charge_key(on, alike)


def spans(numbers: list[int]) -> str:
    """Write rising numbers with their runs drawn together.

    >>> spans([4, 5, 6, 9, 11, 12])
    '4 to 6, 9, 11, 12'
    """
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(
        f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(str(number) for number in run) for run in runs
    )
