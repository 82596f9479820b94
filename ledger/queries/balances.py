"""What each fund has now, read from its last closing balance."""

from datetime import date

from django.db.models import IntegerField, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce

from ledger.models import Fund, FundDay


def with_balance(funds: QuerySet[Fund]) -> QuerySet[Fund]:
    """Give each fund a `balance_minor`: one look at an index per fund, however many postings it has."""
    last = FundDay.objects.filter(fund=OuterRef("pk")).order_by("-on").values("closing_minor")[:1]
    return funds.annotate(balance_minor=Coalesce(Subquery(last), 0, output_field=IntegerField()))


def closing_balance(*, fund_id: int, until: date) -> int:
    """Return what a fund held at the end of a day, from its last closing by then."""
    days = FundDay.objects.filter(fund=fund_id, on__lte=until).order_by("-on")
    return days.values_list("closing_minor", flat=True).first() or 0


def balances() -> dict[int, int]:
    """Return every fund's balance by its id, in minor units."""
    return dict(with_balance(Fund.objects.all()).values_list("id", "balance_minor"))
