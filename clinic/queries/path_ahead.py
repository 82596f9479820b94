"""What is still to come on a path: each rule that stands to choose, with its ways to end and what it comes to."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from clinic.formulas.path_figures import Figures, Rule
from clinic.queries.path_plan import PricedPath
from config import charts
from config.charts.drawing import written
from ledger.formulas import money, splitting

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


@dataclass(frozen=True, kw_only=True)
class WayLine:
    in_100: int
    words: str
    healed: bool
    cost_minor: int
    days: str


@dataclass(frozen=True, kw_only=True)
class RuleLine:
    """A rule told as a table: its ways to end, and what it comes to on average."""

    words: str
    is_best: bool
    ways: tuple[WayLine, ...]
    expected_minor: int
    days: str
    kept_in_100: int
    half_minor: int
    high_minor: int
    is_cheaper: bool
    costs_the_same: bool
    apart_minor: int  # on average, against converting now


@dataclass(frozen=True, kw_only=True)
class Ahead:
    next_words: str
    single_words: str
    rules: tuple[RuleLine, ...]
    best: RuleLine
    convert_minor: int
    convert_high_minor: int
    convert_ways: tuple[WayLine, ...]
    convert_days: str
    complicated_in_100: str
    first_is_cheaper: bool  # making the next operation is cheaper on average than converting now
    advice: tuple[str, ...]
    even: str  # the chance in 100 at which both ways cost the same; empty where there is none
    even_is_zero: bool
    chart: charts.Chart


def ahead(*, priced: PricedPath, found: Figures) -> Ahead:
    names = [one.words for one in priced.left]
    single, convert = priced.single.words, _convert(priced, found)
    rules = tuple(_rule(rule, found, names, single) for rule in found.rules)
    return Ahead(
        next_words=names[0],
        single_words=single,
        rules=rules,
        best=rules[found.best - 1],
        convert_minor=found.convert_minor,
        convert_high_minor=convert.high_minor,
        convert_ways=tuple(
            WayLine(
                in_100=way.in_100,
                words=way.words.split(" ", 1)[1],
                healed=False,
                cost_minor=way.cost_minor,
                days=one_decimal(found.convert_days),
            )
            for way in convert.endings
        ),
        convert_days=one_decimal(found.convert_days),
        complicated_in_100=one_decimal(Fraction(priced.single.step.complication_chance) * 100),
        first_is_cheaper=found.worth_trying[0],
        advice=tuple(_advice(found.worth_trying, names)),
        even="" if found.even is None else one_decimal(found.even * 100),
        even_is_zero=found.even == 0,
        chart=_chart(priced, rules, found, convert),
    )


def one_decimal(value: Fraction) -> str:
    """Write a number with one decimal where it needs one.

    >>> one_decimal(Fraction(57, 2)), one_decimal(Fraction(12)), one_decimal(Fraction(2, 3))
    ('28.5', '12', '0.7')
    """
    tenths = money.half_up(value * 10)
    return f"{tenths // 10}" if tenths % 10 == 0 else f"{tenths // 10}.{tenths % 10}"


def low(words: str) -> str:
    """Write a name as it stands inside a sentence."""
    return words[:1].lower() + words[1:]


def _rule(rule: Rule, found: Figures, names: list[str], single: str) -> RuleLine:
    of_100 = splitting.largest_remainder(100, [way.chance for way in rule.ways])
    return RuleLine(
        words=_rule_words(rule.operations, len(names)),
        is_best=rule.operations == found.best,
        ways=tuple(
            WayLine(
                in_100=in_100,
                words=f"heal after the {low(names[way.operations - 1])}" if way.healed else f"need the {low(single)}",
                healed=way.healed,
                cost_minor=way.cost_minor,
                days=one_decimal(way.days),
            )
            for way, in_100 in zip(rule.ways, of_100, strict=True)
        ),
        expected_minor=rule.expected_minor,
        days=one_decimal(rule.days),
        kept_in_100=sum(in_100 for way, in_100 in zip(rule.ways, of_100, strict=True) if way.healed),
        half_minor=rule.half_minor,
        high_minor=rule.high_minor,
        is_cheaper=rule.less_minor > 0,
        costs_the_same=rule.less_minor == 0,
        apart_minor=abs(rule.less_minor),
    )


def _rule_words(operations: int, of: int) -> str:
    """
    >>> [_rule_words(n, 3) for n in (1, 2, 3)], _rule_words(1, 1), _rule_words(2, 2)
    (['One more, then convert', 'Up to two, then convert', 'All three'], 'The last one', 'Both')
    """
    if operations == of:
        return {1: "The last one", 2: "Both"}.get(of, f"All {_number(of)}")
    return "One more, then convert" if operations == 1 else f"Up to {_number(operations)}, then convert"


def _number(count: int) -> str:
    return NUMBERS[count] if count < len(NUMBERS) else str(count)


def _advice(worth: tuple[bool, ...], names: list[str]):
    """Say by cost alone what comes next at each step; what is never reached by then is left out."""
    yield f"try the {low(names[0])}" if worth[0] else "convert now"
    for before, name, tries in zip(names, names[1:], worth[1:], strict=False):
        yield f"after a {low(before)} that did not heal: {'try the ' + low(name) if tries else 'convert'}"
        if not tries:
            return


def _chart(priced: PricedPath, rules: tuple[RuleLine, ...], found: Figures, convert: charts.Choice) -> charts.Chart:
    digits = money.minor_digits(priced.currency)
    choices = [
        charts.Choice(
            words=line.words,
            remark=f"on average {written(line.expected_minor, digits)}",
            endings=tuple(
                charts.Ending(
                    words=f"{way.in_100} {way.words}", cost_minor=way.cost_minor, in_100=way.in_100, healed=way.healed
                )
                for way in line.ways
            ),
            expected_minor=rule.expected_minor,
            low_minor=rule.low_minor,
            half_minor=rule.half_minor,
            high_minor=rule.high_minor,
        )
        for line, rule in zip(rules, found.rules, strict=True)
    ]
    choices.append(convert)
    return charts.outcomes(
        name="ahead",
        title="How each choice may end",
        desc="For each choice, what it costs to finish, with the cases in 100 for each way it may end.",
        choices=choices,
        digits=digits,
        caption="Dots are ways to end, sized by cases in 100: filled, it heals. "
        "Box: middle 8 of 10; bar: half; triangle: average.",
    )


def _convert(priced: PricedPath, found: Figures) -> charts.Choice:
    """The single procedure: without and with its complication."""
    digits = money.minor_digits(priced.currency)
    plain = money.half_up(priced.single.cost_minor)
    chance = Fraction(priced.single.step.complication_chance)
    worse = money.half_up(priced.single.cost_minor + (priced.complication_minor / chance if chance else 0))
    fine, complicated = splitting.largest_remainder(100, [1 - chance, chance])
    endings = [charts.Ending(words=f"{fine} without complication", cost_minor=plain, in_100=fine, healed=False)]
    if chance:
        endings.append(
            charts.Ending(
                words=f"{complicated} with its complication", cost_minor=worse, in_100=complicated, healed=False
            )
        )
    return charts.Choice(
        words="Convert now",
        remark=f"on average {written(found.convert_minor, digits)}",
        endings=tuple(endings),
        expected_minor=found.convert_minor,
        low_minor=plain if chance <= Fraction(9, 10) else worse,
        half_minor=plain if chance <= Fraction(1, 2) else worse,
        high_minor=plain if chance <= Fraction(1, 10) else worse,
    )
