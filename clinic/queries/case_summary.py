"""One page about a path that its owner can be sent to approve: the figures of its page, without cost or donors."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from clinic.models import House, TreatmentPath
from clinic.queries.paper_head import Headed, paper_head
from clinic.queries.path_ahead import RuleLine
from clinic.queries.paths import PathPage, path_page
from config.days import day_year


@dataclass(frozen=True, kw_only=True)
class CaseSummary(Headed):
    path: PathPage
    issued_word: str

    @property
    def animal_words(self) -> str:
        """What is said of the animal beside its owner: a partner who is the owner is named once."""
        return self.path.animal_words.removesuffix(f" · {self.path.owner.words}")

    @property
    def agreement_minor(self) -> int:
        """What of the next operation with its days the partner's agreement would pay."""
        payers = self.path.one_more.payers if self.path.one_more else ()
        return sum(payer.pays_minor for payer in payers if payer.is_agreement)

    @property
    def others_minor(self) -> int:
        """What of it gifts, funds or the clinic would pay, none of them told by name."""
        return self.path.one_more.paid_minor - self.agreement_minor if self.path.one_more else 0

    @property
    def rules(self) -> tuple[RuleLine, ...]:
        """The choices that fit one page: one more operation, the cheapest way to go on, and all of them."""
        ahead = self.path.ahead
        if ahead is None:
            return ()
        return tuple(rule for rule in ahead.rules if rule in (ahead.rules[0], ahead.best, ahead.rules[-1]))


def case_summary(*, path: TreatmentPath, on: date, house: House, wound_days: bool = False) -> CaseSummary:
    """Return the summary of a path as of a day; its figures are those of the path's page."""
    facts = path_page(path=path, on=on, sees_money=True, house=house, wound_days=wound_days)
    return CaseSummary(head=paper_head(house), path=facts, issued_word=day_year(on))
