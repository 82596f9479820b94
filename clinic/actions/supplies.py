"""The catalog of supplies: what is kept on the shelf, in which unit, and how many of it a pack holds."""

from collections.abc import Mapping
from decimal import Decimal

from django.db import transaction
from django.utils.text import slugify

from clinic.models import Supply, SupplyPack
from config.refusal import Refusal


class SupplyKnown(Refusal):
    field = "name"


class PackImpossible(Refusal):
    field = "packs"


@transaction.atomic
def add_supply(*, name: str, unit: str) -> Supply:
    """Add a supply that no kit names yet.

    :raises SupplyKnown: when there is one of that name, counted in another unit.
    """
    known = Supply.objects.filter(code=slugify(name)[:40]).first() or Supply.objects.filter(name__iexact=name).first()
    if known and known.unit != unit:
        raise SupplyKnown(f"{known.name} is there already, counted in {known.unit}. Nothing was saved.")
    return known or Supply.objects.create(code=slugify(name)[:40], name=name, unit=unit)


@transaction.atomic
def set_packs(*, supply: Supply, packs: Mapping[str, Decimal]) -> int:
    """Say how many units each pack holds; what was received before stays as it is. Return how many packs there are.

    :raises PackImpossible: when a pack holds nothing, or is called like the unit.
    """
    for name, holds in packs.items():
        if holds <= 0:
            raise PackImpossible(f"A {name} holds more than nothing. Write how many {supply.unit} it holds.")
        if name == supply.unit:
            raise PackImpossible(f"{supply.name} is counted in {name} already. Give the pack another name.")
    supply.packs.all().delete()
    SupplyPack.objects.bulk_create(SupplyPack(supply=supply, name=name, holds=holds) for name, holds in packs.items())
    return len(packs)
