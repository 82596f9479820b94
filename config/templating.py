"""How words, dates, amounts, fields and drawings are written in templates; loaded in every one."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from functools import cache

from django import forms, template
from django.forms.boundfield import BoundField
from django.forms.renderers import TemplatesSetting
from django.template.loader import render_to_string
from django.utils.safestring import SafeString, mark_safe

from config import charts, days, home, units

register = template.Library()
MINUS = "\u2212"


class HouseField(BoundField):
    """A field that knows how wide it wants to be and whether it may stay empty."""

    @property
    def kind(self) -> str:
        chosen = getattr(self.field, "kind", "")
        return chosen or next((kind for types, kind in _KINDS if isinstance(self.field, types)), "words")

    @property
    def may_stay_empty(self) -> bool:
        """One of several boxes of which some must be filled (`one_of`) is not called optional."""
        if getattr(self.field, "one_of", False):
            return False
        wanted = self.field.required or getattr(self.field, "wanted", False)  # wanted: where another answer asks for it
        return not wanted and not isinstance(self.field, forms.BooleanField)

    @property
    def first_id(self) -> str:
        """Where a link of the error summary leads: the field, or the first of its choices."""
        return f"{self.auto_id}_0" if self.use_fieldset else self.id_for_label


_KINDS = (
    (forms.BooleanField, "check"),
    (forms.MultipleChoiceField, "choices"),
    (forms.DecimalField, "amount"),
    (forms.IntegerField, "number"),
    (forms.DateField, "date"),
    (forms.TimeField, "time"),
)


class FieldRenderer(TemplatesSetting):
    """Draws each form field with templates/components/field.html."""

    field_template_name = "components/field.html"
    bound_field_class = HouseField


def minor_text(amount_minor: int, digits: int = 2) -> str:
    """Write integer minor units as an account book does.

    >>> minor_text(123898), minor_text(-5), minor_text(1000, 0), minor_text(1234567, 3)
    ('1,238.98', '−0.05', '1,000', '1,234.567')
    """
    sign = MINUS if amount_minor < 0 else ""
    whole, part = divmod(abs(amount_minor), 10**digits)
    return f"{sign}{whole:,}" + (f".{part:0{digits}d}" if digits else "")


@register.filter
def minor(amount_minor: int | None, digits: int | None = None) -> str:
    """Write an amount in the home currency's decimals, or in as many as are said."""
    return "" if amount_minor is None else minor_text(amount_minor, _decimals(digits))


@register.filter
def minor_blank(amount_minor: int | None, digits: int | None = None) -> str:
    """Write an amount, and nothing for nothing."""
    return minor_text(amount_minor, _decimals(digits)) if amount_minor else ""


def _decimals(digits: int | None) -> int:
    return home.digits() if digits is None else digits


@register.filter
def figparts(amount_minor: int, digits: int | None = None) -> tuple[str, str]:
    """Split an amount for a large figure: whole and cents.

    >>> figparts(36208, 2), figparts(-5, 2), figparts(12, 0)
    (('362', '.08'), ('−0', '.05'), ('12', ''))
    """
    whole, _, part = minor_text(amount_minor, _decimals(digits)).partition(".")
    return whole, f".{part}" if part else ""


@register.filter
def day(value: date) -> str:
    return f"{value:%B} {value.day}"


@register.filter
def day_long(value: date) -> str:
    return f"{value:%A, %B} {value.day}"


@register.filter
def day_short(value: date) -> str:
    return f"{value:%b} {value.day}"


@register.filter
def day_year(value: date) -> str:
    return days.day_year(value)


@register.filter
def clock(value) -> str:
    """Write a time of day as the ward reads it.

    >>> from datetime import time
    >>> clock(time(7, 5)), clock(time(21, 10))
    ('7:05', '21:10')
    """
    return f"{value.hour}:{value.minute:02d}"


@register.filter
def beside(heads: Iterable[str], cells: Iterable[object]) -> tuple[tuple[str, object], ...]:
    """Pair a table's heads with the cells of one of its rows.

    >>> beside(("Asked", "Paid"), (12, 7))
    (('Asked', 12), ('Paid', 7))
    """
    return tuple(zip(heads, cells, strict=True))


@register.filter
def plural(count: int, words: str) -> str:
    """Write a count with its noun: `3|plural:"animal,animals"`.

    >>> plural(1, "animal,animals"), plural(1200, "animal,animals")
    ('1 animal', '1,200 animals')
    """
    one, many = words.split(",")
    return f"{count:,} {one if count == 1 else many}"


@register.filter
def quantity(value: Decimal | int) -> str:
    """Write a quantity without needless zeros.

    >>> quantity(Decimal("2.000")), quantity(Decimal("0.500")), quantity(Decimal("10"))
    ('2', '0.5', '10')
    """
    return f"{Decimal(value).normalize():f}"


@register.filter
def with_unit(quantity: Decimal | int, unit: str) -> str:
    """Write `lot.left|with_unit:supply.unit`, such as "2 boxes"."""
    return units.with_unit(quantity, unit)


@register.filter
def thousands(value: Decimal | None) -> str:
    """Write a figure with all the decimals it has; nothing for None.

    >>> thousands(Decimal("1240.00")), thousands(None)
    ('1,240.00', '')
    """
    return "" if value is None else f"{value:,f}"


@register.filter
def words(value: str) -> list[str]:
    return value.split()


@register.simple_tag
def mark(name: str, size: str = "") -> SafeString:
    """Draw a state's mark: due, offered, some, done, later, overdue, waiting, signed, note."""
    return mark_safe(f'<svg class="st {size}" aria-hidden="true"><use href="#{name}"/></svg>')  # noqa: S308


@register.simple_tag
def field(bound: BoundField) -> SafeString:
    """Write a form field whole: label, hint, what is wrong, and its blank line."""
    return bound.as_field_group()


@register.simple_tag
@cache
def tally(given: int, due: int) -> SafeString:
    return render_to_string("components/tally.html", {"tally": charts.tally(given, due)})


@register.simple_tag
def figure(amount_minor: int, digits: int | None = None, sign: str = "") -> SafeString:
    """Write a large figure, its cents small; `sign` is − or = before it."""
    whole, part = figparts(amount_minor, digits)
    return render_to_string("components/figure.html", {"whole": whole, "part": part, "sign": sign})


@register.simple_tag
def chart(drawn: charts.Chart, heading: str = "") -> SafeString:
    return render_to_string("components/chart.html", {"chart": drawn, "heading": heading})


@register.simple_tag
def logo(head: home.Head | None = None) -> SafeString:
    """The house's logo at the head of a paper, or the mark where it has none; asked for where no head was read."""
    return render_to_string("components/logo.html", {"src": head.logo if head else home.logo()})


@register.simple_tag
def signed_by(issuer: str, holder: str, head: home.Head | None = None) -> SafeString:
    """Write who signs a letter for the holder: whoever the house named for all of them, else who issues this one."""
    named = head.signatory if head else home.signatory()
    found = named or home.Signatory(name=issuer, title="", signature="")
    return render_to_string("components/signed_by.html", {"signs": found, "holder": holder})


@register.simple_tag
def beast(species: str) -> SafeString:
    """Draw the species where no photograph may be shown."""
    return render_to_string("components/beast.html", {"box": charts.beast_of(species)})


_SIGNS = {"note": "note", "waits": "waiting", "alarm": "overdue", "signed": "signed", "done": "done"}


@register.simple_block_tag
def notice(content: str, kind: str = "note", live: bool = False) -> SafeString:
    """Write a notice in its place; see components/notice.html."""
    facts = {"kind": kind, "sign": _SIGNS[kind], "live": live, "content": content}
    return render_to_string("components/notice.html", facts)


@register.simple_block_tag
def empty(content: str, sentence: str) -> SafeString:
    """Say what would stand here and offer the step that fills it; see components/empty.html."""
    return render_to_string("components/empty.html", {"words": sentence, "content": content})
