"""What a gift's paper must say, by country and year: exact rules over dated tables. Not tax advice.

Amounts are whole minor units of the country's currency; a limit that is a part of the payment is compared exactly.
Each table names its source. Where a year has no published limit here, a benefit counts whole: the gift part is then
never said to be larger than it may be.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

NOT_TAX_ADVICE = "This is not tax advice: ask a local adviser."


@dataclass(frozen=True, kw_only=True)
class TokenLimits:
    """Benefits so small that they count as nothing: of one year, in minor units."""

    percent: int
    most_minor: int
    payment_minor: int
    items_cost_minor: int


@dataclass(frozen=True, kw_only=True)
class Rules:
    """The rules of one country from a year on. What a country does not know is None."""

    country: str
    currency: str
    from_year: int
    source: str
    is_taxed: bool = True  # it knows gifts that lower a tax
    written_from_minor: int | None = None  # a single gift from which on a written acknowledgment is needed
    disclosure_over_minor: int | None = None  # a payment above which a benefit must be disclosed
    goods_are_valued: bool = False
    needs_address: bool = False
    needs_serial: bool = False
    claim_percent: Fraction | None = None  # what the charity may claim of a gift with a declaration
    ignored_most_minor: int | None = None  # an advantage up to the lesser of this and a tenth counts as nothing
    no_receipt_over: Fraction | None = None  # an advantage above this part of the gift: no receipt


TOKENS: dict[tuple[str, int], TokenLimits] = {
    # Rev. Proc. 2024-40, section on insubstantial benefits, for 2025 (second hand).
    ("US", 2025): TokenLimits(percent=2, most_minor=136_00, payment_minor=68_00, items_cost_minor=13_60),
}
TABLES: tuple[Rules, ...] = (
    Rules(
        country="US",
        currency="USD",
        from_year=1994,
        source="IRS, Charitable contributions: written acknowledgments; Quid pro quo contributions",
        written_from_minor=250_00,
        disclosure_over_minor=75_00,
    ),
    Rules(
        country="GB",
        currency="GBP",
        from_year=2008,  # the basic rate has been 20 % since April 2008
        source="HM Revenue & Customs, Gift Aid",
        claim_percent=Fraction(20, 80) * 100,
    ),
    Rules(
        country="CA",
        currency="CAD",
        from_year=2003,
        source="Canada Revenue Agency, Split receipting",
        goods_are_valued=True,
        needs_address=True,
        needs_serial=True,
        ignored_most_minor=75_00,
        no_receipt_over=Fraction(80, 100),
    ),
)
NEUTRAL = Rules(country="", currency="", from_year=0, source="", is_taxed=False)


@dataclass(frozen=True, kw_only=True)
class GiftPart:
    """How a payment falls into a gift and what came back for it. `gift_minor` is None where no receipt may be given."""

    payment_minor: int
    benefit_minor: int  # what the benefit was worth
    counted_minor: int  # what of it counts
    gift_minor: int | None


def rules_of(*, country: str, year: int) -> Rules:
    """Return the rules of a country in a year; a country or year without a table gets the neutral letter's.

    >>> rules_of(country="CA", year=2026).needs_serial, rules_of(country="NO", year=2026).is_taxed
    (True, False)
    """
    known = [table for table in TABLES if table.country == country and table.from_year <= year]
    return max(known, key=lambda table: table.from_year, default=NEUTRAL)


def written_is_due(*, country: str, year: int, amount_minor: int) -> bool:
    """Say whether a single gift needs a written acknowledgment; gifts are never added up for it.

    >>> [written_is_due(country="US", year=2025, amount_minor=minor) for minor in (249_99, 250_00)]
    [False, True]
    """
    least = rules_of(country=country, year=year).written_from_minor
    return least is not None and amount_minor >= least


def disclosure_is_due(*, country: str, year: int, payment_minor: int, benefit_minor: int) -> bool:
    """Say whether a payment that brought a benefit needs a written disclosure of what the benefit was worth.

    >>> [disclosure_is_due(country="US", year=2025, payment_minor=p, benefit_minor=40_00) for p in (75_00, 75_01)]
    [False, True]
    """
    over = rules_of(country=country, year=year).disclosure_over_minor
    return over is not None and benefit_minor > 0 and payment_minor > over


def gift_part(
    *, country: str, year: int, payment_minor: int, benefit_minor: int, items_cost_minor: int | None = None
) -> GiftPart:
    """Return which part of a payment is a gift.

    `items_cost_minor` is what token items cost the giver of them, where the benefit is such items alone.

    >>> gift_part(country="US", year=2025, payment_minor=100_00, benefit_minor=40_00).gift_minor
    6000
    >>> gift_part(country="CA", year=2025, payment_minor=200_00, benefit_minor=175_00).gift_minor is None
    True
    """
    rules = rules_of(country=country, year=year)
    ignored = _is_ignored(rules, year, payment_minor, benefit_minor, items_cost_minor)
    counted = 0 if ignored else benefit_minor
    refused = rules.no_receipt_over is not None and benefit_minor > payment_minor * rules.no_receipt_over
    return GiftPart(
        payment_minor=payment_minor,
        benefit_minor=benefit_minor,
        counted_minor=counted,
        gift_minor=None if refused else max(payment_minor - counted, 0),
    )


def may_be_claimed(*, country: str, year: int, gift_minor: int, is_declared: bool, is_goods: bool) -> int:
    """Return what a charity may claim on a gift: a part of it with a declaration, nothing without one or on goods.

    Fractions of a penny are dropped: no more is claimed than the rule gives.

    >>> may_be_claimed(country="GB", year=2025, gift_minor=100, is_declared=True, is_goods=False)
    25
    """
    percent = rules_of(country=country, year=year).claim_percent
    if percent is None or not is_declared or is_goods:
        return 0
    return int(gift_minor * percent / 100)


def _is_ignored(rules: Rules, year: int, payment: int, benefit: int, items_cost: int | None) -> bool:
    if rules.ignored_most_minor is not None:
        return benefit <= min(Fraction(rules.ignored_most_minor), Fraction(payment, 10))
    limits = TOKENS.get((rules.country, year))
    if limits is None:
        return False
    small = benefit <= min(Fraction(limits.most_minor), Fraction(payment * limits.percent, 100))
    token = items_cost is not None and payment >= limits.payment_minor and items_cost <= limits.items_cost_minor
    return small or token
