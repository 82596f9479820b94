"""The diary's papers, issued after the demo stands, since a paper is drawn between two writes."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

from clinic.actions.build_demo import diary as diaries
from clinic.actions.build_demo.diary import Diary
from clinic.actions.issue_partner_statement import issue_partner_statement
from clinic.actions.issue_receipt import issue_receipt
from clinic.actions.issue_statement import issue_statement
from clinic.formulas.in_return import InReturn
from clinic.models import House, IssuedPaper, Partner, User
from clinic.queries.stationery import stationery_of
from config.days import month_after
from ledger.queries import donor_choices, gifts


def issue_papers(*, folder: Path, as_of: date) -> int:
    """Issue the statements and receipts that the diary names; return how many."""
    diary = diaries.read(folder, as_of=as_of)
    return _statements(diary) + _receipts(diary) + _partners(diary)


def _receipts(diary: Diary) -> int:
    """The receipt of a donor's gift, named by its amount."""
    for said in diary.says.get("receipt", ()):
        on, until = diary.day(said["day"]), {"from_on": date.min, "to_on": diary.day(0)}
        donor = next(one for one in donor_choices.donor_choices(**until) if one.name == said["donor"])
        given = gifts.of_donor(donor_id=donor.id, **until)
        gift = next(one for one in given if one.amount_minor == diaries.minor(said["gift"]))
        back = {"words": said["words"], "benefit_minor": diaries.minor(said["worth"])} if "worth" in said else {}
        issue_receipt(
            key=diaries.key(f"receipt {said['donor']} {said['gift']}"),
            gift_id=gift.gift_id,
            house=House.objects.get(),
            by=User.objects.get(sign_in="greta"),
            today=on,
            at=diary.moment(on, 16),
            returned=InReturn(**back),
        )
    return len(diary.says.get("receipt", ()))


def _partners(diary: Diary) -> int:
    """The statement of a partner for the month that holds a day."""
    for said in diary.says.get("partner_paper", ()):
        on, within = diary.day(said["day"]), diary.day(said["month_of"])
        first = within.replace(day=1)
        issue_partner_statement(
            key=diaries.key(f"partner paper {said['partner']} {first}"),
            partner=Partner.objects.get(name=said["partner"]),
            from_on=first,
            to_on=month_after(first) - timedelta(days=1),
            stationery=stationery_of(House.objects.get()),
            by=User.objects.get(sign_in="greta"),
            today=on,
            at=diary.moment(on, 17),
        )
    return len(diary.says.get("partner_paper", ()))


def _statements(diary: Diary) -> int:
    stationery, issued = stationery_of(House.objects.get()), {}
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
            stationery=stationery,
            by=User.objects.get(sign_in="greta"),
            today=on,
            at=diary.moment(on, 15),
            form=said.get("form", ""),
            replaces=replaces,
            why=said.get("why", ""),
        )
    return len(diary.says.get("paper", ()))
