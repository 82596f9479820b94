"""Everything that the house knows about one donor, as one file: what the books know, the papers and the letters."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from clinic.models import IssuedPaper, RunItem
from config import home
from ledger.formulas import money
from ledger.queries import holder, one_donor
from ledger.queries.donor_record import RecordLine, donor_record

HEADS = ("Part", "Day", "What", "More", "Amount")


def donor_data(*, donor_id: int, today: date) -> tuple[RecordLine, ...]:
    """Return what is known of a donor, with everybody who is read as one with them."""
    ids = one_donor.whole(donor_id=donor_id)
    return (*donor_record(donor_id=donor_id, today=today), *_papers(ids), *_letters(ids))


def papers_of(*, ids: tuple[int, ...]) -> int:
    """Return how many issued papers name a donor."""
    return IssuedPaper.objects.filter(donor_id__in=ids).count()


def as_rows(lines: tuple[RecordLine, ...]) -> list[list[object]]:
    return [[line.part, line.on.isoformat() if line.on else "", line.what, line.more, line.amount] for line in lines]


def as_json(lines: tuple[RecordLine, ...], *, today: date) -> bytes:
    """Write the lines by part; amounts are decimal words, so that no program rounds them."""
    parts: dict[str, list[dict[str, str]]] = {}
    for line in lines:
        said = {
            "day": line.on.isoformat() if line.on else "",
            "what": line.what,
            "more": line.more,
            "amount": "" if line.amount is None else str(line.amount),
        }
        parts.setdefault(line.part, []).append({name: words for name, words in said.items() if words})
    currency = holder.holder().currency
    told = {"as of": today.isoformat(), "amounts in": currency, **parts}
    return (json.dumps(told, ensure_ascii=False, indent=2) + "\n").encode()


def _papers(ids: tuple[int, ...]) -> Iterator[RecordLine]:
    rows = IssuedPaper.objects.filter(donor_id__in=ids).select_related("number", "issued_by", "withdrawal")
    for paper in rows.order_by("issued_on", "id"):
        withdrawn = getattr(paper, "withdrawal", None)
        days = f"{paper.from_on.isoformat()} to {paper.to_on.isoformat()}"
        said = (f"issued by {home.person(paper.issued_by_id)}", paper.why, f"no longer counts: {withdrawn.why}" if
                withdrawn else "")  # fmt: skip
        yield RecordLine(
            part="Papers issued",
            on=paper.issued_on,
            what=f"No. {paper.number}, {paper.get_kind_display()}, {days}",
            more="; ".join(filter(None, said)),
            amount=_amount(paper.facts["sums"].get("given", 0)),
        )


def _letters(ids: tuple[int, ...]) -> Iterator[RecordLine]:
    rows = RunItem.objects.filter(donor_id__in=ids).exclude(mail="").select_related("paper__number")
    for item in rows.order_by("mail_at", "pk"):
        yield RecordLine(
            part="Letters by e-mail",
            on=item.mail_at.date() if item.mail_at else None,
            what=f"No. {item.paper.number}: {item.get_mail_display()}" if item.paper else item.get_mail_display(),
            more=item.mail_says,
        )


def _amount(minor: int) -> Decimal:
    return money.from_minor(minor, holder.holder().currency)
