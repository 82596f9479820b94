"""The charges of an animal, a partner or a plan: what was asked, of whom, for which care."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import F, Q, QuerySet, Sum

from ledger.models import Charge, Share
from ledger.models.accounts import NAME_OF

NOBODY_LABEL, GIVEN_LABEL = "Nobody yet", "Taken over by the clinic"


@dataclass(frozen=True, kw_only=True)
class PayerLine:
    """What one payer pays. `payer` is fund, agreement, nobody or given; `fund_kind` is empty for nobody."""

    payer: str
    fund_id: int | None
    fund_kind: str
    label: str
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class ChargeLine:
    """One charge. A reversal has negative figures and names the charge that it `reverses`."""

    charge_id: int
    entry_number: int
    on: date
    subject_key: str
    party_key: str
    plan_key: str
    care_on: date
    words: str
    subject_words: str
    kind: str
    kind_words: str
    quantity: Decimal
    unit: str
    cost_minor: int
    usual_minor: int
    asked_minor: int
    goods_minor: int
    is_late: bool
    reverses: int | None
    reversed_by: int | None
    payers: tuple[PayerLine, ...]
    time_minor: int = 0

    @property
    def given_minor(self) -> int:
        return self.usual_minor - self.asked_minor - self.goods_minor


@dataclass(frozen=True, kw_only=True)
class Figures:
    """Sums of the three figures under one heading: a kind of care (`code`) or a day of care (`on`)."""

    label: str
    cost_minor: int
    usual_minor: int
    asked_minor: int
    code: str = ""
    on: date | None = None


@dataclass(frozen=True, kw_only=True)
class Charges:
    lines: tuple[ChargeLine, ...]
    by_kind: tuple[Figures, ...]
    by_day: tuple[Figures, ...]
    by_payer: tuple[PayerLine, ...]
    together: Figures

    @property
    def nobody_minor(self) -> int:
        return sum(line.amount_minor for line in self.by_payer if line.payer == "nobody")

    @property
    def given_minor(self) -> int:
        """What the clinic gave beside what it asked: usual fee less asked amount and donated goods."""
        return sum(line.given_minor for line in self.lines)


def of_subject(
    *, subject_key: str, plan_key: str | None = None, from_on: date | None = None, until_on: date | None = None
) -> Charges:
    """Return an animal's charges by day of care, those of one plan only when `plan_key` is given."""
    return _charges(Charge.objects.filter(subject_key=subject_key), plan_key, from_on, until_on)


def of_party(*, party_key: str, from_on: date | None = None, until_on: date | None = None) -> Charges:
    """Return the charges of a partner's animals by day of care."""
    return _charges(Charge.objects.filter(party_key=party_key), None, from_on, until_on)


def parties(*, from_on: date, until_on: date) -> tuple[str, ...]:
    """Return the keys of the partners whose animals had care in these days."""
    rows = Charge.objects.filter(care_on__range=(from_on, until_on)).exclude(party_key="")
    return tuple(rows.order_by("party_key").values_list("party_key", flat=True).distinct())


def of_keys(*, slip_keys: Iterable) -> dict:
    """Return the charge lines of these slips, by slip key; a slip not posted is left out."""
    rows = _facts(Charge.objects.filter(entry__key__in=list(slip_keys)))
    payers = _payers([row["id"] for row in rows])
    return {row["entry__key"]: _line(row, payers) for row in rows}


def by_amount(*, amount_minor: int, most: int) -> tuple[ChargeLine, ...]:
    """Return the newest charges that ask, or would ask of a client, exactly this amount, at most so many."""
    found = Q(asked_minor=amount_minor) | Q(usual_minor=amount_minor)
    newest = Charge.objects.filter(found, reverses=None).order_by("-id").values_list("id")[:most]
    rows = _facts(Charge.objects.filter(id__in=[row for (row,) in newest]))
    payers = _payers([row["id"] for row in rows])
    return tuple(_line(row, payers) for row in rows)


def _charges(charges: QuerySet[Charge], plan_key: str | None, from_on: date | None, until_on: date | None) -> Charges:
    if plan_key is not None:
        charges = charges.filter(plan_key=plan_key)
    if from_on:
        charges = charges.filter(care_on__gte=from_on)
    if until_on:
        charges = charges.filter(care_on__lte=until_on)
    rows = _facts(charges)
    payers = _payers([row["id"] for row in rows])
    lines = tuple(_line(row, payers) for row in rows)
    return Charges(
        lines=lines,
        by_kind=tuple(_figures(lines, lambda line: (line.kind_words, {"code": line.kind}))),
        by_day=tuple(_figures(lines, lambda line: (line.care_on.isoformat(), {"on": line.care_on}))),
        by_payer=_sums(lines),
        together=_sum("Together", lines),
    )


def _facts(charges: QuerySet[Charge]) -> list[dict]:
    return list(
        charges.order_by("care_on", "id").values(
            "id",
            "subject_key",
            "party_key",
            "plan_key",
            "care_on",
            "kind_id",
            "quantity_thousandths",
            "unit",
            "cost_minor",
            "usual_minor",
            "asked_minor",
            "goods_minor",
            "time_minor",
            "is_late",
            "reverses_id",
            "entry_id",
            "entry__key",
            back=F("reversed_by__id"),
            on=F("entry__on"),
            words=F("entry__words__line"),
            subject=F("entry__words__subject"),
        )
    )


def _payers(charge_ids: list[int]) -> dict[int, list[PayerLine]]:
    """Return what each payer pays of each charge, moved shares summed up."""
    found: dict[int, list[PayerLine]] = defaultdict(list)
    for start in range(0, len(charge_ids), 500):
        rows = (
            Share.objects.filter(charge_id__in=charge_ids[start : start + 500])
            .values("charge_id", "payer", "fund_id", name=F("fund__name"), kind=F("fund__kind"))
            .annotate(minor=Sum("amount_minor"), place=Sum("id"))
            .order_by("charge_id", "place")
        )
        for row in rows:
            if row["minor"]:
                found[row["charge_id"]].append(payer_line(row, row["minor"]))
    return found


def payer_line(row: dict, amount_minor: int) -> PayerLine:
    words = {"nobody": NOBODY_LABEL, "given": GIVEN_LABEL}
    return PayerLine(
        payer=row["payer"],
        fund_id=row["fund_id"],
        fund_kind=row["kind"] or "",
        label=words.get(row["payer"], row["name"]),
        amount_minor=amount_minor,
    )


def _line(row: dict, payers: dict[int, list[PayerLine]]) -> ChargeLine:
    return ChargeLine(
        charge_id=row["id"],
        entry_number=row["entry_id"],
        on=row["on"],
        subject_key=row["subject_key"],
        party_key=row["party_key"],
        plan_key=row["plan_key"],
        care_on=row["care_on"],
        words=row["words"] or "",
        subject_words=row["subject"] or "",
        kind=row["kind_id"],
        kind_words=NAME_OF[row["kind_id"]],
        quantity=Decimal(row["quantity_thousandths"]) / 1000,
        unit=row["unit"],
        cost_minor=row["cost_minor"],
        usual_minor=row["usual_minor"],
        asked_minor=row["asked_minor"],
        goods_minor=row["goods_minor"],
        is_late=row["is_late"],
        reverses=row["reverses_id"],
        reversed_by=row["back"],
        payers=tuple(payers.get(row["id"], ())),
        time_minor=row["time_minor"] or 0,
    )


def _figures(lines: Iterable[ChargeLine], heading) -> Iterable[Figures]:
    groups: dict[str, list[ChargeLine]] = defaultdict(list)
    facts: dict[str, dict] = {}
    for line in lines:
        label, facts_of = heading(line)
        groups[label].append(line)
        facts[label] = facts_of
    return (_sum(label, group, **facts[label]) for label, group in groups.items())


def _sum(label: str, lines: Iterable[ChargeLine], **facts) -> Figures:
    lines = tuple(lines)
    return Figures(
        label=label,
        cost_minor=sum(line.cost_minor for line in lines),
        usual_minor=sum(line.usual_minor for line in lines),
        asked_minor=sum(line.asked_minor for line in lines),
        **facts,
    )


def _sums(lines: Iterable[ChargeLine]) -> tuple[PayerLine, ...]:
    totals: dict[tuple, int] = defaultdict(int)
    for line in lines:
        for payer in line.payers:
            totals[payer.payer, payer.fund_id, payer.fund_kind, payer.label] += payer.amount_minor
    return tuple(
        PayerLine(payer=payer, fund_id=fund_id, fund_kind=kind, label=label, amount_minor=minor)
        for (payer, fund_id, kind, label), minor in totals.items()
        if minor
    )
