"""Every page of the demo in a real browser: axe finds nothing, nothing overflows, the content policy refuses nothing.

With PICTURES=FOLDER each page is also kept as a picture, 1280, 1180 and 360 px wide; with PAGES=PATTERN only those are
read whose address it fits.
"""

import os
import re
import uuid
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from django.core.management import call_command
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from clinic import models as clinic
from clinic.actions import counts, lots, paper_runs, partners, photos, supplies
from config.roles import Role
from ledger import models as ledger
from ledger.actions import donor_merges
from ledger.audit import audit
from tests.browser.axe import findings, sideways

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.every_page]

WIDTHS = {1280: 800, 1180: 820, 360: 740}
ONE_LINE, MASTHEAD = 1100, 66  # from this width on, the masthead names the person's pages: in one line, so high
# Shown only to somebody signed out or to a partner's contact, only while DEBUG is on, or not as a page.
ELSEWHERE = {
    "sign_in",
    "sign_out",
    "invitation",
    "set_up",
    "parts",
    "your_animals",
    "your_animal",
    "your_dispute",
    "your_month",
    "your_paper",
    "your_tables",
    "agreement_end",
    "approval_file",
    "worker",
    "since",
    "tablet",
    "row",
}


def samples() -> dict[str, object]:
    """Return what stands for each part of an address, from the middle of the demo."""
    bracken = clinic.Animal.objects.get(name="Bracken")
    path = clinic.TreatmentPath.objects.get(ended_on=None)
    partner = clinic.Partner.objects.get(name="Brindle Yard Rescue")
    fund = ledger.Fund.objects.get(name="Brindle Yard fund")
    donor = ledger.Donor.objects.get(name="Imke and Tobias Sandoval")
    return {
        "on": date(2026, 10, 13),
        "animal_id": bracken.pk,
        "path_id": path.pk,
        "step_id": path.steps.filter(result="").first().pk,
        "point_id": 0,
        "reading_id": clinic.WoundReading.objects.first().pk,
        "partner_id": partner.pk,
        "party_key": partner.key,
        "subject_key": bracken.key,
        "donor_id": donor.pk,
        "other_id": ledger.Donor.objects.get(name="Orsolya Penhallow").pk,
        "merge_id": merged().pk,
        "fund_id": fund.pk,
        "gift_id": ledger.Gift.objects.filter(donor=donor).first().pk,
        "service_id": clinic.Service.objects.first().pk,
        "person_id": clinic.User.objects.get(sign_in="amos").pk,
        "code": "large_gift_minor",
        "report": "trial-balance",
        "dispute_id": 0,
        "approval_id": clinic.Approval.objects.first().pk,
        "number": ledger.Entry.objects.order_by("-id").first().pk,
        "advance_id": ledger.Advance.objects.get().pk,
        "grade_id": clinic.Grade.objects.get(name="Nurse").pk,
        "supply_id": shelf().supply_id,
        "lot_id": clinic.SupplyLot.objects.latest("pk").pk,
        "group_id": clinic.Group.objects.first().pk,
        "photo_id": consent().photo_id,
        "consent_id": consent().pk,
        "follow_up_id": clinic.FollowUp.objects.filter(result="").earliest("due_on").pk,
        "bill_id": clinic.Bill.objects.get(state="to_check").pk,
        "kind": "csv",
        "waiting_id": ledger.WaitingGift.objects.latest("pk").pk,
        "file_id": ledger.GiftFile.objects.latest("pk").pk,
        "bank_file_id": ledger.BankFile.objects.latest("pk").pk,
        "bank_account_id": ledger.BankAccount.objects.latest("pk").pk,
        "bank_line_id": ledger.BankLine.objects.exclude(matched__stands=True).earliest("pk").pk,
        "rule_id": a_rule().pk,
        "appeal_id": clinic.Appeal.objects.latest("pk").pk,
        "paper": str(clinic.IssuedPaper.objects.latest("pk").number),
        "year": 2026,
        "run_id": a_run().pk,
        "letter": "gift",
        "item_id": 0,
        "tablet_id": 0,
        "scan_id": ledger.Scan.objects.get().pk,
    }


def of_their_own() -> dict[str, dict[str, object]]:
    """Return by page what it needs other than the samples."""
    restricted = ledger.Fund.objects.get(name="Bracken's leg").pk
    charge = ledger.Charge.objects.filter(reverses=None, reversed_by=None, kind="supplies").order_by("-id").first()
    line, closed = {"number": charge.entry_id}, {"number": ledger.Closing.objects.order_by("-entry").first().entry_id}
    return {
        "line": line,
        "line_correct": line,
        "closing": closed,
        "closing_pdf": closed,
        "leftover": {"fund_id": restricted},
        "leftover_answer": {"fund_id": restricted},
        "dispute": {"dispute_id": disputed().pk},
        "usual_follow_ups": {"service_id": clinic.Service.objects.filter(kind="procedure").first().pk},
    }


def shelf():
    """A supply with a name that is long, used lots and a new one, and a count that found less."""
    greta, day = clinic.User.objects.get(sign_in="greta"), date(2026, 10, 14)
    said = {**by(greta), "today": day}
    supply = supplies.add_supply(name="Cohesive bandage, extra wide, latex free, for large breeds", unit="roll")
    supplies.set_packs(supply=supply, packs={"box": Decimal(12)})
    lot = {"supply": supply, "unit": "box", "words": "Weir Lane Wholesale", "number": "CB-2291"}
    for quantity, on in (("1", date(2026, 9, 1)), ("2", date(2026, 10, 12))):
        key = uuid.uuid5(uuid.NAMESPACE_OID, f"lot {on}")
        made = lots.receive(
            key=key,
            quantity=Decimal(quantity),
            cost_minor=3840,
            arrived_on=on,
            expires_on=date(2026, 11, 2),
            **lot,
            **said,
        )
        if on.month == 9:
            key = uuid.uuid5(uuid.NAMESPACE_OID, "count")
            counts.count(key=key, supply=supply, found=Decimal("8.5"), why="water came through the roof", **said)
    return made


def merged():
    """Two donors whom somebody holds for one, of whom another thinks otherwise."""
    names = ("The Tollgate Trust", "Class 4b, Tollgate School")
    into, donor = (ledger.Donor.objects.get(name=name).pk for name in names)
    said = {"why": "The school’s own trust, by its treasurer.", "on": date(2026, 10, 14)}
    key, greta = uuid.uuid5(uuid.NAMESPACE_OID, "merge"), by(clinic.User.objects.get(sign_in="greta"))
    return donor_merges.merge(key=key, donor_id=donor, into_id=into, **said, by=greta["by"].pk, at=greta["at"])


def consent():
    """A second photo of Bracken, with a person in it, to which everybody agreed."""
    photo = clinic.Photo.objects.get(animal__name="Bracken", words="Bracken at the door")
    said = {"uses": ["statement", "appeal"], "owner_said": "Bea Larkin, Brindle Yard Rescue", "nobody_in_it": False}
    key, day = uuid.uuid5(uuid.NAMESPACE_OID, "consent"), date(2026, 10, 14)
    said |= {"people": "Bea Larkin, who holds the lead", "from_on": day, "until_on": None, "today": day}
    return photos.consent(key=key, photo=photo, **said, **by(clinic.User.objects.get(sign_in="greta")))


def a_rule():
    """Lines of the bank that are known by a long run of words."""
    amos = clinic.User.objects.get(sign_in="amos")
    said = {"contains": "quarterly account-keeping charge of the savings department", "way": "spending"}
    said |= {"account": "management", "fund": ledger.Fund.objects.get(kind="general"), "made_by": amos.pk}
    return ledger.BankRule.objects.create(key=uuid.uuid4(), made_at=datetime(2026, 10, 14, tzinfo=UTC), **said)


def a_run():
    """A run that has come half way: a statement mailed into doubt, one for the printer, one that could not be made."""
    amos, days = clinic.User.objects.get(sign_in="amos"), {"from_on": date(2026, 4, 1), "to_on": date(2026, 9, 30)}
    said = {"kind": "donor", **days, "form": "", "by": amos, "today": date(2026, 10, 14)}
    run = paper_runs.start(key=uuid.uuid5(uuid.NAMESPACE_OID, "run"), at=datetime(2026, 10, 14, tzinfo=UTC), **said)
    by_post = run.items.get(donor_id=ledger.Donor.objects.get(name="Dorothea Quayle").pk)
    first, second = run.items.exclude(pk=by_post.pk).order_by("place")[:2]
    paper = clinic.IssuedPaper.objects.filter(kind="impact_statement").first()
    clinic.RunItem.objects.filter(pk=first.pk).update(state="made", paper=paper, mail="perhaps", mail_says="Cut off.")
    clinic.RunItem.objects.filter(pk=by_post.pk).update(state="made", paper=paper)
    clinic.RunItem.objects.filter(pk=second.pk).update(state="not_made", says="A photo of it has vanished.")
    run.items.filter(state="waiting").update(state="working", beat_at=datetime(2100, 1, 1, tzinfo=UTC))  # by another
    return run


def by(person) -> dict[str, object]:
    return {"by": person, "at": datetime(2026, 10, 14, tzinfo=UTC)}


def disputed():
    """A line that the partner's contact does not agree with."""
    bea = clinic.User.objects.get(sign_in="bea")
    asked = ledger.Share.objects.filter(payer="agreement", charge__reverses=None, charge__reversed_by=None)
    number = asked.order_by("-id").values_list("charge__entry", flat=True)[0]
    said = {"partner": bea.partner, "number": number, "by": bea, "words": "He was with his foster that night."}
    at = datetime(2026, 10, 14, tzinfo=UTC)
    return partners.dispute(key=uuid.uuid5(uuid.NAMESPACE_OID, "dispute"), at=at, **said)


def addresses() -> list[str]:
    """Return one address for every page that answers GET, found in the address table itself."""
    known, own = samples(), of_their_own()

    def walk(patterns, room=""):
        for pattern in patterns:
            if isinstance(pattern, URLResolver):
                yield from walk(pattern.url_patterns, pattern.namespace)
            elif isinstance(pattern, URLPattern) and pattern.name not in ELSEWHERE:
                words = known | own.get(pattern.name, {})
                yield reverse(
                    f"{room}:{pattern.name}", kwargs={name: words[name] for name in pattern.pattern.converters}
                )

    return asked([*walk(get_resolver().url_patterns), "/animals/?show=all", "/find/?q=bracken", "/nowhere/"])


def of_the_contact() -> list[str]:
    """Return the pages of a partner's contact: their animals, one of them, a line of it, a month."""
    bracken = clinic.Animal.objects.get(name="Bracken")
    lines = ledger.Share.objects.filter(payer="agreement", charge__subject_key=bracken.key, charge__reverses=None)
    of_bracken = {"animal_id": bracken.pk}
    line = {**of_bracken, "number": lines.order_by("id").values_list("charge__entry", flat=True)[0]}
    pages = [("your_animals", {}), ("your_animal", of_bracken), ("your_dispute", line)]
    pages += [("your_month", {"on": date(2026, month, 1)}) for month in (9, 10)]
    return asked([reverse(f"clinic:{name}", kwargs=words) for name, words in pages])


def asked(every: list[str]) -> list[str]:
    return [address for address in every if re.search(os.environ.get("PAGES", ""), address)]


def test_every_page_of_the_demo(open_page, settings):
    settings.AS_OF = "2026-10-14"
    call_command("build_demo", as_of="2026-10-14", verbosity=0)
    everywhere = clinic.User.objects.get(sign_in="amos")
    for role in (Role.VET, Role.BOOKKEEPER):
        clinic.RoleHeld.objects.create(user=everywhere, role=role.value)
    folder = Path(os.environ["PICTURES"]) if os.environ.get("PICTURES") else None
    readers = [(everywhere, addresses()), (clinic.User.objects.get(sign_in="bea"), of_the_contact())]
    walks = [(reader, pages_among(open_page(reader), theirs)) for reader, theirs in readers]
    wrong: list[str] = []

    for reader, pages in walks:
        page = open_page(reader)
        for address in pages:
            wrong += read(page, address, folder)

    assert wrong == []
    assert sum(len(pages) for _, pages in walks) >= (1 if os.environ.get("PAGES") else 40)
    assert list(audit().findings) == []


def pages_among(page, every: list[str]) -> list[str]:
    """Return those addresses that answer with a page: not with a file, and not to being sent something alone."""

    def is_page(answer) -> bool:
        return answer.status != 405 and "text/html" in answer.headers["content-type"]

    return [address for address in every if is_page(page.request.get(address))]


def read(page, address: str, folder: Path | None) -> list[str]:
    """Open a page, make its window narrower and narrower, and return what is wrong with it."""
    page.complaints.clear()
    page.set_viewport_size({"width": 1280, "height": WIDTHS[1280]})
    answer = page.goto(address)
    expected = 404 if address == "/nowhere/" else 200
    wrong = [] if answer.status == expected else [f"{address} answers {answer.status}"]
    for width, height in {**WIDTHS, 320: 740}.items():
        page.set_viewport_size({"width": width, "height": height})
        wrong += [f"{address} at {width}: {found}" for found in read_at(page, width)]
        if folder and width in WIDTHS:
            name = address.strip("/").replace("/", "-").replace("?", "-") or "home"
            page.screenshot(path=folder / f"{name}-{width}.png", full_page=True)
    return wrong + [f"{address}: the browser says {said}" for said in page.complaints if expected == 200]


def read_at(page, width: int) -> list[str]:
    wrong = [f"sideways: {what}" for what in sideways(page)[:3]]
    masthead = page.locator(".masthead")
    if width >= ONE_LINE and masthead.count() and masthead.bounding_box()["height"] > MASTHEAD:
        wrong.append("its masthead takes a second line")
    return wrong + (findings(page) if width in {1280, 360} else [])
