"""Sets up whose books these are, with the funds that every set of books begins with (A1)."""

from datetime import date
from uuid import NAMESPACE_OID, uuid5

from django.db import transaction

from config import home
from config.refusal import Refusal
from ledger.formulas.money import minor_digits
from ledger.models import Fund, Holder

BEGINNING = (
    (Fund.Kind.GENERAL, "General", "whatever is needed most"),
    (Fund.Kind.GIVEN, "Given by the clinic", ""),
    (Fund.Kind.GOODS, "Donated goods", ""),
)


class HolderSetUp(Refusal):
    """The books have their holder already."""

    def __init__(self) -> None:
        super().__init__("These books have a holder already. Nothing was changed.")


@transaction.atomic
def set_up(
    *,
    kind: str,
    name: str,
    number: str,
    country: str,
    currency: str,
    fiscal_year_starts: int,
    on: date,
    by: int,
) -> Holder:
    """Begin the books on the day `on`: holder, general fund, what the clinic gives, donated goods.

    :raises HolderSetUp: when there is a holder.
    :raises CurrencyUnknown: when the currency is not in use.
    """
    if Holder.objects.exists():
        raise HolderSetUp
    minor_digits(currency)
    holder = Holder(
        kind=kind,
        name=name,
        number=number,
        country=country,
        currency=currency,
        fiscal_year_starts=fiscal_year_starts,
    )
    holder.save(force_insert=True)
    for fund_kind, fund_name, given_for in BEGINNING:
        Fund.objects.create(
            key=uuid5(NAMESPACE_OID, f"ward-ledger:{fund_kind}"),
            kind=fund_kind,
            name=fund_name,
            given_for=given_for,
            opened_on=on,
            opened_by=by,
        )
    home.forget()
    return holder
