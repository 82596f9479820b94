"""The ticks that are charged as one line, and the key of that line."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from uuid import UUID

from clinic.formulas import sheet_keys
from clinic.models import CareItem


def together(items: Sequence[CareItem]) -> list[list[CareItem]]:
    """Put the ticks of one service that are charged alike into one line: "Tablets x 2" is rounded once (C4)."""
    groups: dict[tuple, list[CareItem]] = defaultdict(list)
    for item in items:
        alike = (
            item.service_id, item.given_free, item.emergency, item.path_key, item.late_source, item.signing_id,
            item.group_fact_id,
        )  # fmt: skip
        groups[alike].append(item)
    return list(groups.values())


def charge_key(on: date, items: Sequence[CareItem]) -> UUID:
    """Return the key of the line that these ticks make; the books know it by that."""
    return sheet_keys.charge(on, item_keys=[item.key for item in items])
