"""The key under which the books know an animal's path: it stays the same when the plan is changed."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from django.db.models import Q

from clinic.models import TreatmentPath


def plan_key(path: TreatmentPath) -> str:
    """Return the key of the first plan of a path, so that a ceiling and what was set aside outlive a change of plan."""
    while path.replaces_id:
        path = path.replaces
    return path.key


def plans_of(path: TreatmentPath) -> list[int]:
    """Return a path's own id and those of the plans it replaced."""
    ids, one = [path.pk], path
    while one.replaces_id:
        ids.append(one.replaces_id)
        one = one.replaces
    return ids


def on_a_path(*, animals: Iterable[int], on: date) -> dict[int, str]:
    """Return the plan keys of those animals whose ways have parted by a day, and not ended before it (G1)."""
    lasts = Q(ended_on=None) | Q(ended_on__gte=on)
    paths = TreatmentPath.objects.filter(lasts, animal__in=list(animals), parted_on__lte=on).order_by("pk")
    return {path.animal_id: plan_key(path) for path in paths}
