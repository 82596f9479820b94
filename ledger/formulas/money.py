"""Turns amounts that people write into whole minor units, and back.

One rounding mode everywhere: half up, away from zero, so that a reversal mirrors its charge exactly
(Council Regulation (EC) 1103/97, article 5, rounds a half up; away from zero for negative amounts is the
house's own completion). The number of minor digits is ISO 4217's, kept here with the date of the list,
because the digits that a locale library displays are not the same thing.
"""

from decimal import Decimal
from fractions import Fraction

# ISO 4217, list one of 2026-02-01: every currency in use, by its number of minor digits.
MINOR_UNITS_AS_OF = "2026-02-01"
_WITH_TWO = """
AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BOV BRL BSD BTN BWP BYN BZD CAD CDF CHE CHF CHW CNY COP
COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR
JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MXV MYR MZN NAD NGN
NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL
THB TJS TMT TOP TRY TTD TWD TZS UAH USD USN UYU UZS VED VES WST XAD XCD XCG YER ZAR ZMW ZWG
"""
_BY_DIGITS = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    2: _WITH_TWO,
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
MINOR_UNITS: dict[str, int] = {code: digits for digits, line in _BY_DIGITS.items() for code in line.split()}


class CurrencyUnknown(ValueError):
    """A code that is no currency in use."""

    def __init__(self, code: str) -> None:
        super().__init__(f"{code!r} is no currency in use. Write its three letters, such as USD.")


class TooManyDigits(ValueError):
    """An amount finer than its currency's smallest unit."""

    def __init__(self, amount: Decimal, currency: str) -> None:
        super().__init__(f"{amount} is finer than the smallest unit of {currency}. Write at most its usual digits.")


def minor_digits(currency: str) -> int:
    """Return how many digits stand behind the point of `currency`.

    >>> [minor_digits(code) for code in ("JPY", "USD", "KWD", "IQD", "CLF", "UYW")]
    [0, 2, 3, 3, 4, 4]

    :raises CurrencyUnknown: when the code is not on the list.
    """
    try:
        return MINOR_UNITS[currency]
    except KeyError:
        raise CurrencyUnknown(currency) from None


def half_up(exact: Fraction | Decimal | int) -> int:
    """Round to a whole number, halves away from zero.

    >>> half_up(Fraction(5, 2)), half_up(Fraction(-5, 2)), half_up(Decimal("2.4999"))
    (3, -3, 2)
    """
    size = Fraction(exact)
    whole = (abs(size.numerator) * 2 + size.denominator) // (2 * size.denominator)
    return -whole if size < 0 else whole


def to_minor(exact: Fraction | Decimal | int, currency: str) -> int:
    """Round an exact amount in major units to whole minor units.

    >>> to_minor(Decimal("24.784"), "EUR"), to_minor(Decimal("24.785"), "EUR"), to_minor(Decimal("-24.785"), "EUR")
    (2478, 2479, -2479)
    >>> to_minor(12 * Fraction(785, 985), "USD")
    956

    :raises CurrencyUnknown: when the code is not on the list.
    """
    return half_up(Fraction(exact) * int(10 ** minor_digits(currency)))


def typed_to_minor(amount: Decimal, currency: str) -> int:
    """Return the minor units of an amount that somebody typed, which is never rounded.

    >>> typed_to_minor(Decimal("28.80"), "USD"), typed_to_minor(Decimal("1500"), "JPY")
    (2880, 1500)

    :raises TooManyDigits: when the amount has digits that the currency does not.
    :raises CurrencyUnknown: when the code is not on the list.
    """
    exact = Fraction(amount) * Fraction(10) ** minor_digits(currency)
    if exact.denominator != 1:
        raise TooManyDigits(amount, currency)
    return exact.numerator


def from_minor(amount_minor: int, currency: str) -> Decimal:
    """Return minor units as an amount in major units, with all its digits.

    >>> from_minor(2880, "USD"), from_minor(-5, "USD"), from_minor(1500, "JPY")
    (Decimal('28.80'), Decimal('-0.05'), Decimal('1500'))

    :raises CurrencyUnknown: when the code is not on the list.
    """
    return Decimal(amount_minor).scaleb(-minor_digits(currency))
