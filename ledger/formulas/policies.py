"""The policies that a house can set: each one's question, what may be answered, and the answer before anybody set one.

A policy's value is kept as one word of text: yes or no, a whole number of minor units or "none", or a word of its own.
"""

from dataclasses import dataclass

YES, NO, NONE = "yes", "no", "none"
MOST_MINOR = 10**12
Value = bool | int | str | None


class PolicyUnknown(ValueError):
    """A code that names no policy."""

    def __init__(self, code: str) -> None:
        super().__init__(f"There is no policy {code!r}.")


class AnswerImpossible(ValueError):
    """A value that is no answer to the policy's question."""

    def __init__(self, question: str) -> None:
        super().__init__(f"That is no answer to “{question}” Nothing was changed. Choose one of its answers.")


@dataclass(frozen=True, kw_only=True)
class Policy:
    """One question. `answers` are its words in order; a policy without answers takes an amount or none."""

    code: str
    rule: str
    name: str
    question: str
    note: str
    default: str
    answers: tuple[tuple[str, str], ...] = ()

    @property
    def is_amount(self) -> bool:
        return not self.answers


_YES_NO = ((YES, "yes"), (NO, "no"))
CATALOG: dict[str, Policy] = {
    policy.code: policy
    for policy in (
        Policy(
            code="general_ceiling",
            rule="D3",
            name="A ceiling for general money",
            question="On a staged path, does general money pay at most what the single procedure would have cost?",
            note="The rest comes from gifts that name the animal, the partner, other funds or the clinic.",
            default=YES,
            answers=_YES_NO,
        ),
        Policy(
            code="fees_from_general",
            rule="E2",
            name="Giving-site fees",
            question="Does general money pay a giving site’s fee, so that all of a gift arrives?",
            note="Otherwise each gift pays its own fee.",
            default=NO,
            answers=_YES_NO,
        ),
        Policy(
            code="large_gift_minor",
            rule="E5",
            name="Large gifts",
            question="Above which amount does a gift stand in a fund of its own?",
            note="It feeds the general fund by dated transfers, so that small gifts do not wait behind it for years.",
            default=NONE,
        ),
        Policy(
            code="short_form_below",
            rule="I2",
            name="Short statements",
            question="Below which sum in a year does a donor get the short form of the statement?",
            note="The full list is sent on request.",
            default=NONE,
        ),
        Policy(
            code="papers_kept",
            rule="J4",
            name="Papers of erased donors",
            question="For how many years is an issued paper kept after its donor’s name was erased?",
            note="Counted from the end of the year of issue. What the law asks for differs: ask a local adviser.",
            default="7",
            answers=(
                ("5", "five years"),
                ("6", "six years"),
                ("7", "seven years"),
                ("8", "eight years"),
                ("10", "ten years"),
            ),
        ),
        Policy(
            code="supplies_cost",
            rule="C1",
            name="Cost of supplies",
            question="What does a supply cost that was bought at several prices?",
            note="It decides the cost of what is used from then on, never of what is signed off.",
            default="first_in_first_out",
            answers=(
                ("first_in_first_out", "what the oldest on the shelf cost"),
                ("moving_average", "the average of what is on the shelf"),
            ),
        ),
        Policy(
            code="single_signature",
            rule="G5",
            name="One signature for care and money",
            question="May one person sign a decision both for care and for money?",
            note="In a small practice the vet and the manager are often one person.",
            default=YES,
            answers=_YES_NO,
        ),
    )
}


def known(code: str) -> Policy:
    """Return the policy of this code.

    :raises PolicyUnknown: when there is none.
    """
    try:
        return CATALOG[code]
    except KeyError:
        raise PolicyUnknown(code) from None


def read(code: str, text: str) -> Value:
    """Return what a kept value means: yes or no, minor units, None for "none", or the chosen word.

    >>> read("general_ceiling", "yes"), read("large_gift_minor", "50000"), read("large_gift_minor", "none")
    (True, 50000, None)
    >>> read("supplies_cost", "moving_average")
    'moving_average'

    :raises PolicyUnknown: when there is no such policy.
    :raises AnswerImpossible: when the value is no answer to it.
    """
    policy = known(code)
    if policy.is_amount:
        if text == NONE:
            return None
        plain = text.isascii() and text.isdecimal() and len(text) <= len(str(MOST_MINOR))
        if not plain or not 0 < int(text) <= MOST_MINOR:
            raise AnswerImpossible(policy.question)
        return int(text)
    if text not in dict(policy.answers):
        raise AnswerImpossible(policy.question)
    return text == YES if policy.answers == _YES_NO else text


def write(code: str, value: Value) -> str:
    """Return the text under which a value is kept.

    >>> write("general_ceiling", False), write("large_gift_minor", 50000), write("large_gift_minor", None)
    ('no', '50000', 'none')

    :raises PolicyUnknown: when there is no such policy.
    :raises AnswerImpossible: when the value is no answer to it.
    """
    text = NONE if value is None else {True: YES, False: NO}[value] if isinstance(value, bool) else str(value)
    read(code, text)
    return text
