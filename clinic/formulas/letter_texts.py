"""Letter texts: plain paragraphs with a short list of fields in braces, and nothing that could run.

FieldUnknown   a word in braces that is no field of this letter, or a brace that stands alone
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

MOST = 2000
FIELD = re.compile(r"\{([^{}]*)\}")


class FieldUnknown(ValueError):
    def __init__(self, found: str, known: Mapping[str, str]) -> None:
        fields = ", ".join(f"{{{name}}}" for name in known)
        super().__init__(f"{found} is no field of this letter. Nothing was changed. Its fields are {fields}.")


@dataclass(frozen=True, kw_only=True)
class Letter:
    """One text that a manager may write: its fields, each with an example for the preview, and what stands at first."""

    code: str
    name: str
    where: str
    default: str
    fields: Mapping[str, str]


CATALOG: dict[str, Letter] = {
    letter.code: letter
    for letter in (
        Letter(
            code="gift",
            name="Thanks for a gift",
            where="the receipt or letter for one gift",
            default=(
                "Thank you for your gift of {date}. It is in our books under your name, and a statement will tell you "
                "what it paid for."
            ),
            fields={
                "donor": "Imke and Tobias Sandoval", "date": "August 27, 2026", "amount": "250.00 USD",
                "clinic": "Larkweir Veterinary Practice", "holder": "Larkweir Animal Fund",
            },
        ),
        Letter(
            code="gifts",
            name="Thanks for a year’s gifts",
            where="the receipt or letter for a donor’s year",
            default=(
                "Thank you for your {count} gifts of {year}. Each is in our books under your name, and a statement "
                "tells you what they paid for."
            ),
            fields={
                "donor": "Imke and Tobias Sandoval", "year": "2026", "count": "4", "amount": "640.00 USD",
                "clinic": "Larkweir Veterinary Practice", "holder": "Larkweir Animal Fund",
            },
        ),
        Letter(
            code="statement",
            name="Last words of a donor’s statement",
            where="the end of an impact statement, above the signature",
            default="Thank you. Write to us if you would like to know more about one of them.",
            fields={
                "donor": "Imke and Tobias Sandoval", "clinic": "Larkweir Veterinary Practice",
                "holder": "Larkweir Animal Fund",
            },
        ),
        Letter(
            code="partner",
            name="Last words of a partner’s statement",
            where="the end of a partner statement",
            default="Thank you for entrusting them to us. Tell us if something here is not as you know it.",
            fields={
                "partner": "Brindle Yard Rescue", "clinic": "Larkweir Veterinary Practice",
                "holder": "Larkweir Animal Fund",
            },
        ),
    )
}  # fmt: skip


def checked(*, code: str, text: str) -> str:
    """Return a text as it is kept: its paragraphs parted by one empty line.

    >>> checked(code="gift", text="Dear {donor},\\r\\n\\r\\n\\r\\nthank you.")
    'Dear {donor},\\n\\nthank you.'

    :raises FieldUnknown: when a word in braces is no field of this letter, or a brace stands alone.
    """
    known = CATALOG[code].fields
    for name in FIELD.findall(text):
        if name not in known:
            raise FieldUnknown(f"{{{name}}}", known)
    if alone := re.search(r"[{}]", FIELD.sub("", text)):
        raise FieldUnknown(f"A single {alone.group()}", known)
    return "\n\n".join(_paragraphs(text))


def filled(*, code: str, text: str, values: Mapping[str, str]) -> tuple[str, ...]:
    """Return the paragraphs of a text with its fields filled in; what is filled in is never read as a field again.

    >>> filled(code="gift", text="Dear {donor}.", values={"donor": "{date}"})
    ('Dear {date}.',)
    """
    text = checked(code=code, text=text)
    return tuple(FIELD.sub(lambda found: values.get(found.group(1), ""), part) for part in _paragraphs(text))


def _paragraphs(text: str) -> list[str]:
    parts = re.split(r"\n\s*\n", text.replace("\r\n", "\n"))
    return [" ".join(part.split()) for part in parts if part.strip()]
