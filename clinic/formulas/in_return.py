"""What a donor got for a gift, and who acknowledges it (I4)."""

from dataclasses import dataclass

US, SITE, NOBODY = "us", "site", "nobody"
RECEIPTED_BY = ((US, "we do"), (SITE, "the giving site does"), (NOBODY, "nobody does"))


@dataclass(frozen=True, kw_only=True)
class InReturn:
    """Goods or services that came back for a gift, in minor units; thanks are no benefit."""

    words: str = ""
    benefit_minor: int = 0
    items_cost_minor: int | None = None  # what small things such as mugs cost, where they are all of it
    receipted_by: str = US
    is_declared: bool = False  # a declaration for the tax office is on file
