"""Which donated services an accountant recognizes as income, and which are only told.

Source: ASC 958-605-25-16 (published rule): services received are recognized when they create or improve a
non-financial asset, or when they need specialized skill, are given by people who have it, and would otherwise be
bought.
"""


def recognized(*, needs_skill: bool, has_skill: bool, would_be_bought: bool, makes_an_asset: bool = False) -> bool:
    """Tell whether a donated service is income in the books of who receives it.

    A veterinarian operates free; the same veterinarian walks dogs; a lay volunteer cleans:

    >>> recognized(needs_skill=True, has_skill=True, would_be_bought=True)
    True
    >>> recognized(needs_skill=False, has_skill=True, would_be_bought=False)
    False
    >>> recognized(needs_skill=False, has_skill=False, would_be_bought=True)
    False
    """
    return makes_an_asset or (needs_skill and has_skill and would_be_bought)
