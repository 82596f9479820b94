"""The diary's papers, issued after the demo stands, since a paper is drawn between two writes."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from clinic.actions.build_demo import diary as diaries
from clinic.actions.issue_statement import issue_statement
from clinic.models import House, IssuedPaper, User
from ledger.queries import donor_choices


def issue_papers(*, folder: Path, as_of: date) -> int:
    """Issue the statements that the diary names; return how many."""
    diary = diaries.read(folder, as_of=as_of)
    house, issued = House.objects.get(), {}
    for said in diary.says.get("paper", ()):
        days = {"from_on": diary.day(said["from"]), "to_on": diary.day(said["until"])}
        donor = next(one for one in donor_choices.donor_choices(**days) if one.name == said["donor"])
        on = diary.day(said["day"])
        replaces: IssuedPaper | None = issued.get(said["donor"])
        issued[said["donor"]] = issue_statement(
            key=diaries.key(f"paper {said['donor']} {on}"),
            donor_id=donor.id,
            donor=donor.name,
            address=donor.address,
            **days,
            house=house,
            by=User.objects.get(sign_in="greta"),
            today=on,
            at=diary.moment(on, 15),
            form=said.get("form", ""),
            replaces=replaces,
            why=said.get("why", ""),
        )
    return len(diary.says.get("paper", ()))
