"""Why a payer pays, or pays no more: the codes that the books keep, and their words.

A code is the rank of the payer, and behind a + what holds it back: `purpose_fits+limit_animal`.
"""

from ledger.formulas.allocation import AGREEMENT, GENERAL, NAMES_ANIMAL, NOBODY, PARTNER, PURPOSE

CODE_OF = {
    NAMES_ANIMAL: "names_animal",
    AGREEMENT: "agreement",
    PURPOSE: "purpose_fits",
    PARTNER: "partner_fund",
    GENERAL: "general_money",
    NOBODY: "nobody_paid",
}
TAKEN_OVER, GIVEN_BACK, STANDING = "taken_over", "given_back", "standing:"
WORDS = {
    "names_animal": "names the animal",
    "agreement": "agreement",
    "purpose_fits": "purpose fits",
    "partner_fund": "the partner's fund",
    "general_money": "general money",
    "nobody_paid": "nobody has paid this yet",
    TAKEN_OVER: "taken over",
    GIVEN_BACK: "given back by a correction",
    "returned": "given back, because the gift that paid it was returned",
    "limit_animal": "its limit for this animal is reached",
    "limit_month": "its limit for this month is reached",
    "limit_animal_month": "its limit for this animal and month is reached",
    "ceiling": "general money has paid what the single procedure would have cost",
    "set_aside": "the rest is set aside for others",
}


def reason_words(code: str) -> str:
    """Return a reason in words.

    >>> reason_words("purpose_fits+limit_animal"), reason_words("standing:3")
    ('purpose fits; its limit for this animal is reached', 'a decision that stands for this animal')
    """
    return "; ".join(_words(part) for part in code.split("+"))


def _words(part: str) -> str:
    return "a decision that stands for this animal" if part.startswith(STANDING) else WORDS[part]


def follows_from_the_order(code: str) -> bool:
    """Tell whether a share came by the order of payers, and counts against limits; not so what somebody decided."""
    return code != TAKEN_OVER and not code.startswith(STANDING)
