"""A price list as a file: every cell read as text, and one sentence for each row that is none."""

import csv
import io
import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms

from clinic.models import Price
from clinic.queries.prices import COMPUTED, share_words
from config.fields import DayField

HEADS = ("Code", "Service", "Unit", "From", "Cost", "Donated", "Usual fee", "Asked")
BYTES_MOST = 500_000
ROWS_MOST = 2_000
DIGITS_MOST, PLACES_MOST = 12, 6
PERCENT_PLACES = 3
SHARE = re.compile(r"(\S+) ?% of (usual fee|cost)")


class CopyForm(forms.Form):
    """Copy the list forward with a percentage."""

    starts_on = DayField("From", help_text="Each service’s price before this day is taken and raised.")
    percent = forms.DecimalField(
        label="Percent",
        max_digits=6,
        decimal_places=3,
        initial=0,
        widget=forms.TextInput(attrs={"inputmode": "text", "autocomplete": "off"}),
        help_text="3.5 raises, −2 written as -2 lowers, 0 only confirms the list.",
    )
    figures = forms.MultipleChoiceField(
        label="Which figures",
        choices=[("cost", "Cost"), ("usual_fee", "Usual fee"), ("asked", "Asked")],
        initial=["cost", "usual_fee", "asked"],
        widget=forms.CheckboxSelectMultiple,
    )


class ListFileForm(forms.Form):
    """The file; once it was read, its text is sent again to be kept."""

    file = forms.FileField(
        label="File",
        required=False,
        help_text="Comma-separated, with the heads of the list that you can take away from the price page.",
    )
    text = forms.CharField(required=False, widget=forms.HiddenInput, max_length=BYTES_MOST, strip=False)

    def clean(self):
        said = super().clean()
        if said.get("file"):
            said["text"] = self._text(said["file"])
        if not said.get("text") and not self.errors:
            self.add_error("file", "Choose the file with the price list.")
        return said

    def _text(self, file) -> str:
        if file.size > BYTES_MOST:
            self.add_error("file", f"The file has more than {BYTES_MOST:,} bytes, which no price list has.")
            return ""
        try:
            text = file.read().decode("utf-8-sig")
        except UnicodeDecodeError:
            text = "\0"
        if "\0" in text:
            self.add_error("file", "The file is no text in UTF-8. Save it as comma-separated, UTF-8.")
            return ""
        return text


@dataclass(frozen=True)
class ListedPrice:
    line: int
    code: str
    starts_on: date
    cost: Decimal | None  # None where it is computed
    donated: Decimal | None
    usual_fee: Decimal
    asked: Decimal | None  # None where it is a share
    asked_from: str
    asked_percent: Decimal | None

    @property
    def cost_words(self) -> str:
        return COMPUTED if self.cost is None else f"{self.cost}"

    @property
    def asked_words(self) -> str:
        return f"{self.asked}" if self.asked is not None else share_words(self.asked_from, self.asked_percent)

    def figures(self) -> dict[str, Any]:
        names = ("starts_on", "cost", "donated", "usual_fee", "asked", "asked_from", "asked_percent")
        cost_from = Price.CostFrom.COMPUTED if self.cost is None else Price.CostFrom.TYPED
        return {"cost_from": cost_from, **{name: getattr(self, name) for name in names}}


@dataclass(frozen=True)
class Wrong:
    line: int
    sentence: str


@dataclass(frozen=True)
class ListRead:
    rows: tuple[ListedPrice, ...]
    wrong: tuple[Wrong, ...]


def read(text: str) -> ListRead:
    """Read a list; amounts have a point and no grouping, so that 1.234 is never taken for a thousand.

    >>> made = "Code,Service,Unit,From,Cost,Donated,Usual fee,Asked\\n" + "tablets,Tablets,tablet,2026-11-01,1.60,,5,"
    >>> [price.asked for price in read(made + "2").rows], read(made + "1,234").wrong[0].sentence
    ([Decimal('2')], 'The row has 9 cells, and the list has 8 columns. Write amounts without commas.')
    """
    lines = csv.reader(io.StringIO(text, newline=""), strict=True)
    rows: list[ListedPrice] = []
    wrong: list[Wrong] = []
    try:
        if tuple(cell.strip() for cell in next(lines, ())) != HEADS:
            return ListRead((), (Wrong(1, f"The first line has to read: {', '.join(HEADS)}."),))
        for cells in lines:
            if any(cell.strip() for cell in cells):
                _take(lines.line_num, [cell.strip() for cell in cells], rows, wrong)
    except csv.Error:
        wrong.append(Wrong(lines.line_num, "A quotation mark is not closed, so the rest cannot be read."))
    if len(rows) > ROWS_MOST:
        return ListRead((), (Wrong(1, f"The list has more than {ROWS_MOST:,} rows. Bring it in by parts."),))
    if not rows and not wrong:
        wrong.append(Wrong(1, "The list has no row."))
    return ListRead(tuple(rows), tuple(wrong))


def _take(line: int, cells: list[str], rows: list[ListedPrice], wrong: list[Wrong]) -> None:
    try:
        row = _row(line, cells)
    except ValueError as obstacle:
        wrong.append(Wrong(line, str(obstacle)))
        return
    twin = next((one for one in rows if (one.code, one.starts_on) == (row.code, row.starts_on)), None)
    if twin:
        sentence = f"{row.code} has two prices from {row.starts_on}; the other is on line {twin.line}."
        wrong.append(Wrong(line, sentence))
        return
    rows.append(row)


def _row(line: int, cells: list[str]) -> ListedPrice:
    if len(cells) != len(HEADS):
        raise ValueError(
            f"The row has {len(cells)} cells, and the list has {len(HEADS)} columns. Write amounts without commas."
        )
    code, _, _, starts_on, cost, donated, usual_fee, asked = cells
    try:
        day = date.fromisoformat(starts_on)
    except ValueError:
        raise ValueError(f"“{starts_on[:20]}” is no date. Write it as 2026-10-14.") from None
    return ListedPrice(
        line=line,
        code=code.removeprefix("'"),
        starts_on=day,
        cost=None if cost.lower() == COMPUTED else _amount("Cost", cost),
        donated=_amount("Donated", donated) if donated else None,
        usual_fee=_amount("Usual fee", usual_fee),
        **_asked(asked),
    )


def _asked(written: str) -> dict[str, Any]:
    """Read an amount, or a share such as “45 % of usual fee”."""
    share = SHARE.fullmatch(written.lower())
    if share is None:
        return {"asked": _amount("Asked", written), "asked_from": Price.AskedFrom.TYPED, "asked_percent": None}
    percent = _amount("Asked", share[1])
    if percent.normalize().as_tuple().exponent < -PERCENT_PLACES:  # type: ignore[operator]
        raise ValueError(f"Asked: {share[1]} % has more digits than a share can have.")
    return {"asked": None, "asked_from": share[2].replace(" ", "_"), "asked_percent": percent}


def _amount(head: str, written: str) -> Decimal:
    try:
        amount = Decimal(written) if written.isascii() and set(written) <= set("0123456789.-") else None
    except InvalidOperation:
        amount = None
    if amount is None:
        raise ValueError(f"{head}: “{written[:20]}” is no amount. Write it with a point, such as 12.50.")
    if amount < 0:
        raise ValueError(f"{head}: {written[:20]} is below zero. A price is zero or more.")
    places = -int(amount.as_tuple().exponent)
    if places > PLACES_MOST or len(amount.as_tuple().digits) - places > DIGITS_MOST - PLACES_MOST:
        raise ValueError(f"{head}: {written[:20]} has more digits than a price can have.")
    return amount
