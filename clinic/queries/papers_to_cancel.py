"""Receipts and letters that stand although they should not: a gift went back, or was another donor's after all."""

from __future__ import annotations

from dataclasses import dataclass

from clinic.models import IssuedPaper
from clinic.queries.issued_papers import ACKNOWLEDGE
from ledger.queries import donor_choices, gifts, one_donor


@dataclass(frozen=True, kw_only=True)
class ToCancel:
    number: str
    whose: str
    why: str  # goes on from "A gift of somebody …"


def papers_to_cancel() -> tuple[ToCancel, ...]:
    """Return the receipts and letters that stand and ask to be canceled, each with its reason (E4, I4)."""
    live = IssuedPaper.objects.filter(kind__in=ACKNOWLEDGE, replaced_by=None, withdrawal=None)
    papers = list(live.select_related("number").order_by("id"))
    told = {gift for paper in papers for gift in paper.facts["gifts"]}
    back, whose = gifts.went_back(ids=told), _others(papers)
    found = []
    for paper in papers:
        if any(_counted_more(paper, gift) for gift in back & set(paper.facts["gifts"])):
            found.append((paper, "went back"))
        elif paper.pk in whose:
            found.append((paper, "was another donor’s after all, since a merge was undone"))
    names = donor_choices.names(ids={paper.donor_id for paper, _ in found if paper.donor_id})
    return tuple(
        ToCancel(number=str(paper.number), whose=names.get(paper.donor_id or 0, ""), why=why) for paper, why in found
    )


def _others(papers: list[IssuedPaper]) -> set[int]:
    """Return the papers that thank one donor for a gift of another: they were one when it was issued."""
    parted = one_donor.parted()
    doubtful = [paper for paper in papers if paper.donor_id in parted]
    if not doubtful:
        return set()
    owners = gifts.owners(ids={gift for paper in doubtful for gift in paper.facts["gifts"]})
    ones = one_donor.read_as(ids={paper.donor_id or 0 for paper in doubtful})
    return {
        paper.pk
        for paper in doubtful
        if any(owners.get(gift) != ones.get(paper.donor_id or 0) for gift in paper.facts["gifts"])
    }


def _counted_more(paper: IssuedPaper, gift_id: int) -> bool:
    """Whether something of a gift went back after the paper was issued."""
    story = gifts.gift(gift_id=gift_id)
    if story is None or story.row.is_taken_back:
        return True
    return any(line.entry_number > paper.facts.get("as_of", 0) for line in story.returns)
