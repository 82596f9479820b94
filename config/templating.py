"""How words, dates and amounts are written in templates; loaded in every one."""

from datetime import date
from decimal import Decimal

from django import template
from django.forms.renderers import TemplatesSetting
from django.utils.safestring import mark_safe

register = template.Library()
MINUS = "\u2212"


class FieldRenderer(TemplatesSetting):
    """Draws each form field with templates/components/field.html."""

    field_template_name = "components/field.html"


def minor_text(amount_minor: int, digits: int = 2) -> str:
    """Write integer minor units as an account book does.

    >>> minor_text(123898), minor_text(-5), minor_text(1000, 0), minor_text(1234567, 3)
    ('1,238.98', '−0.05', '1,000', '1,234.567')
    """
    sign = MINUS if amount_minor < 0 else ""
    whole, part = divmod(abs(amount_minor), 10**digits)
    return f"{sign}{whole:,}" + (f".{part:0{digits}d}" if digits else "")


@register.filter
def minor(amount_minor: int | None, digits: int = 2) -> str:
    return "" if amount_minor is None else minor_text(amount_minor, digits)


@register.filter
def minor_blank(amount_minor: int | None, digits: int = 2) -> str:
    return minor_text(amount_minor, digits) if amount_minor else ""


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
    return f"{value:%B} {value.day}, {value.year}"


@register.filter
def plural(count: int, words: str) -> str:
    """Write a count with its noun: `3|plural:"animal,animals"`."""
    one, many = words.split(",")
    return f"{count} {one if count == 1 else many}"


@register.filter
def figparts(amount_minor: int) -> tuple[str, str]:
    """Split an amount for a large figure: whole and cents."""
    whole, _, part = minor_text(amount_minor).partition(".")
    return whole, f".{part}" if part else ""


@register.filter
def quantity(value: Decimal | int) -> str:
    """Write a quantity without needless zeros.

    >>> quantity(Decimal("2.000")), quantity(Decimal("0.500")), quantity(Decimal("10"))
    ('2', '0.5', '10')
    """
    return f"{Decimal(value).normalize():f}"


@register.simple_tag
def mark(name: str, size: str = "") -> str:
    """Draw a state's mark: due, offered, some, done, overdue, waiting, signed, note."""
    return mark_safe(f'<svg class="st {size}" aria-hidden="true"><use href="#{name}"/></svg>')  # noqa: S308
