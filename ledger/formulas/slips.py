"""A slip: one priced line of care on its way to the books, in the three figures."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from uuid import UUID

CARE_KINDS = ("procedures", "boarding", "supplies", "staff_time", "outside_services")
OWED_TO = ("practice", "bill")
MOST_MINOR = 10**12
MOST_QUANTITY = Decimal(100_000)


class SlipImpossible(ValueError):
    """A line of care that cannot be: the message says which figure and why."""


@dataclass(frozen=True, kw_only=True)
class Slip:
    """One line of care. Amounts are whole minor units; the keys are opaque; `words` and `subject_words` are kept.

    `kind` is the code of an expense account of care, `traits` are the codes that funds and agreements match.
    `goods_minor` is the part of the cost that came as donated goods; `time_minor` is the part of what the clinic gives
    that was not asked because somebody worked free.
    """

    key: UUID
    subject_key: str
    kind: str
    care_on: date
    words: str
    quantity: Decimal
    unit: str
    cost_minor: int
    usual_minor: int
    asked_minor: int
    goods_minor: int = 0
    party_key: str = ""
    plan_key: str = ""
    traits: frozenset[str] = frozenset()
    subject_words: str = ""
    late: bool = False
    time_minor: int = 0
    owed_to: str = "practice"  # or "bill": an outsider asks for it (B8)

    def __post_init__(self) -> None:
        if self.kind not in CARE_KINDS:
            raise SlipImpossible(f"{self.words}: {self.kind!r} is no kind of care.")
        if self.owed_to not in OWED_TO:
            raise SlipImpossible(f"{self.words}: {self.owed_to!r} is nobody who is owed.")
        if not self.subject_key or not self.words:
            raise SlipImpossible("A line of care names its animal and says what was done.")
        if not 0 < self.quantity <= MOST_QUANTITY or self.quantity * 1000 % 1:
            raise SlipImpossible(f"{self.words}: a quantity is above zero, at most 100,000, with three digits at most.")
        if not all(0 <= figure <= MOST_MINOR for figure in (self.cost_minor, self.asked_minor, self.goods_minor)):
            raise SlipImpossible(f"{self.words}: cost, asked amount and donated goods are zero or more.")
        if not self.asked_minor <= self.usual_minor <= MOST_MINOR:
            raise SlipImpossible(f"{self.words}: the asked amount is never above the usual fee.")
        if not 0 <= self.time_minor <= self.given_minor:
            raise SlipImpossible(f"{self.words}: unpaid time is a part of what the clinic gives.")

    @property
    def given_minor(self) -> int:
        """What the clinic gives: the usual fee less what is asked and what came as donated goods."""
        return max(self.usual_minor - self.asked_minor - self.goods_minor, 0)

    @property
    def sent(self) -> Mapping[str, object]:
        """Everything that the slip says, as plain data, from which a second sending is known."""
        later = ("key", "owed_to", "time_minor")
        return {
            **{name: getattr(self, name) for name in self.__dataclass_fields__ if name not in later},
            **({"time_minor": self.time_minor} if self.time_minor else {}),
            **({"owed_to": self.owed_to} if self.owed_to != "practice" else {}),
            "traits": sorted(self.traits),
            "quantity": int(self.quantity * 1000),
        }
