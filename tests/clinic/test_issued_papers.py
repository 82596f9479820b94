"""Issued means issued: a number, facts as they stood, the same bytes again, a correction that names the first."""

import io
import json
import uuid
from datetime import date

import pytest
from django.db import IntegrityError, connection, transaction
from django.urls import reverse
from PIL import Image
from pypdf import PdfReader

from clinic import audit as care
from clinic.actions import issued_papers, photos
from clinic.actions.issue_statement import issue_statement
from clinic.models import House, IssuedPaper, PaperNumber, PaperWithdrawal
from clinic.queries import issued_papers as issued_query
from clinic.queries.stationery import stationery_of
from config import uploads
from ledger.actions import donors
from ledger.models import Fund
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY

pytestmark = pytest.mark.django_db

YEAR = {"from_on": date(2026, 1, 1), "to_on": date(2026, 12, 31)}


@pytest.fixture(autouse=True)
def media_of_its_own(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def clinic():
    return make.open_clinic()


@pytest.fixture
def donor(clinic):
    made = donors.add(key=uuid.uuid4(), name="Imke & Tobias Sandoval", on=date(2026, 10, 1), by=clinic.bookkeeper.pk)
    clinic.gift(Fund.objects.get(kind="general"), 2500, donor_id=made.pk)
    return made


def issued(clinic, donor, **more) -> IssuedPaper:
    said = {"key": uuid.uuid4(), "donor_id": donor.pk, "donor": donor.name, "address": "", **YEAR, **more}
    said["stationery"] = stationery_of(House.objects.get())
    return issue_statement(**said, by=clinic.bookkeeper, today=TODAY, at=AT)


def text_of(content: bytes) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(content)).pages)


def signed_in(client, person):
    client.force_login(person, "django.contrib.auth.backends.ModelBackend")
    return client


def test_a_paper_carries_its_number_and_is_served_byte_for_byte_after_the_books_have_moved_on(clinic, donor, client):
    paper = issued(clinic, donor)
    signed_in(client, clinic.reader)
    first = client.get(reverse("clinic:issued_paper_file", args=[paper.number])).content
    clinic.gift(Fund.objects.get(kind="general"), 900, donor_id=donor.pk)

    again = client.get(reverse("clinic:issued_paper_file", args=[paper.number])).content

    assert str(paper.number) == "2026-0001"
    assert first == again
    assert "No. 2026-0001" in text_of(first)
    assert "Draft" not in text_of(first)


def test_its_facts_hold_ids_and_figures_and_no_name_that_somebody_typed(clinic, donor):
    paper = issued(clinic, donor)

    assert paper.facts["donor_id"] == donor.pk
    assert paper.facts["sums"]["given"] == 2500
    assert not any(name in json.dumps(paper.facts) for name in ("Sandoval", "Greta", "Lindqvist"))


def test_the_same_form_sent_twice_is_one_paper_and_one_number(clinic, donor):
    key = uuid.uuid4()

    assert issued(clinic, donor, key=key) == issued(clinic, donor, key=key)
    assert PaperNumber.objects.count() == IssuedPaper.objects.count() == 1


def test_a_form_sent_again_for_other_days_is_refused(clinic, donor):
    key = uuid.uuid4()
    issued(clinic, donor, key=key)

    with pytest.raises(issued_papers.SentOtherwise, match="sent before for another paper"):
        issued(clinic, donor, key=key, to_on=date(2026, 11, 30))

    assert IssuedPaper.objects.count() == 1


def test_the_same_days_are_told_once(clinic, donor):
    issued(clinic, donor)

    with pytest.raises(issued_papers.IssuedBefore, match="Paper 2026-0001 tells of these days already"):
        issued(clinic, donor)

    assert PaperNumber.objects.count() == 1


def test_a_corrected_paper_names_the_first_and_the_first_stays(clinic, donor):
    first = issued(clinic, donor)
    kept = uploads.read(sha256=first.sha256, content_type=uploads.PDF)
    clinic.gift(Fund.objects.get(kind="general"), 900, donor_id=donor.pk)

    second = issued(clinic, donor, replaces=first, why="A gift was recorded late.")

    text = text_of(uploads.read(sha256=second.sha256, content_type=uploads.PDF))
    assert "It takes the place of No. 2026-0001, issued October 14, 2026." in text
    assert (second.facts["sums"]["given"], str(second.number)) == (3400, "2026-0002")
    assert uploads.read(sha256=first.sha256, content_type=uploads.PDF) == kept


def test_a_paper_is_corrected_once_and_its_successor_next(clinic, donor):
    first = issued(clinic, donor)
    issued(clinic, donor, replaces=first, why="once")

    with pytest.raises(issued_papers.NotTheLast, match="Paper 2026-0002 has taken its place"):
        issued(clinic, donor, replaces=first, why="twice")

    assert IssuedPaper.objects.count() == 2


def test_a_crash_after_the_number_was_taken_loses_neither_number_nor_paper(clinic, donor, monkeypatch):
    key = uuid.uuid4()
    with monkeypatch.context() as broken:
        broken.setattr("clinic.actions.issue_statement.drawn", lambda statement: (_ for _ in ()).throw(OSError("off")))
        with pytest.raises(OSError, match="off"):
            issued(clinic, donor, key=key)

    paper = issued(clinic, donor, key=key)

    assert (str(paper.number), PaperNumber.objects.count()) == ("2026-0001", 1)


def test_numbers_begin_anew_each_year(clinic, donor):
    issued(clinic, donor)
    by = clinic.bookkeeper
    about = issued_papers.About(kind="impact_statement", donor_id=donor.pk, from_on=date(2027, 1, 1), to_on=TODAY)

    taken = issued_papers.take_number(key=uuid.uuid4(), about=about, by=by, on=date(2027, 1, 2), at=AT)

    assert str(taken.number) == "2027-0001"


def test_a_paper_whose_consent_was_taken_back_is_kept_and_handed_to_nobody(clinic, donor, client):
    """I5: the issued file is kept and no longer served; a canceled receipt, though, can still be read."""
    paper = issued(clinic, donor)
    other = issued(clinic, donor, to_on=date(2026, 11, 30))
    said = {"by": clinic.manager, "at": AT}
    issued_papers.withdraw(paper=paper, why="Consent for a photograph was taken back.", is_served=False, **said)
    issued_papers.withdraw(paper=other, why="Sent to the wrong person.", is_served=True, **said)
    signed_in(client, clinic.manager)

    gone = client.get(reverse("clinic:issued_paper_file", args=[paper.number]))
    stands = client.get(reverse("clinic:issued_paper_file", args=[other.number]))

    assert (gone.status_code, stands.status_code) == (404, 200)
    assert uploads.read(sha256=paper.sha256, content_type=uploads.PDF)
    assert "handed to nobody" in client.get(reverse("clinic:issued_paper", args=[paper.number])).content.decode()
    with pytest.raises(issued_papers.WithdrawnBefore):
        issued_papers.withdraw(paper=paper, why="again", is_served=True, **said)


ATTACKS = {
    "update of what it said": lambda: IssuedPaper.objects.update(facts={}),
    "delete of a paper": lambda: IssuedPaper.objects.all()._raw_delete("default"),
    "save of a paper": lambda: IssuedPaper.objects.get().save(),
    "update of a number": lambda: PaperNumber.objects.update(serial=9),
    "delete of a number": lambda: PaperNumber.objects.all()._raw_delete("default"),
    "a second first paper": lambda: IssuedPaper.objects.create(**_twin()),
    "a corrected one without a reason": lambda: IssuedPaper.objects.create(
        **_twin(once=None, replaces=IssuedPaper.objects.get())
    ),
}


def _twin(**other) -> dict[str, object]:
    row = IssuedPaper.objects.values().get()
    number = PaperNumber.objects.create(
        key=uuid.uuid4(), year=2026, serial=2, taken_by_id=row["issued_by_id"], taken_at=AT
    )
    row.pop("id")
    return {**row, "number_id": number.pk, **other}


@pytest.mark.parametrize("name", ATTACKS)
def test_an_issued_paper_withstands(clinic, donor, name):
    issued(clinic, donor)
    before = list(IssuedPaper.objects.values_list())

    with pytest.raises(IntegrityError), transaction.atomic():
        ATTACKS[name]()

    assert list(IssuedPaper.objects.values_list()) == before


@pytest.mark.skipif(connection.vendor != "sqlite", reason="REPLACE is SQLite's own")
@pytest.mark.parametrize("model", [IssuedPaper, PaperNumber, PaperWithdrawal])
def test_replace_withstands(clinic, donor, model):
    paper = issued(clinic, donor)
    issued_papers.withdraw(paper=paper, why="a test", is_served=True, by=clinic.manager, at=AT)
    columns = [field.column for field in model._meta.concrete_fields]
    row = model.objects.values_list(*columns).get()
    held = list(model.objects.values_list())
    plain = [value.hex if isinstance(value, uuid.UUID) else value for value in row]
    plain = [json.dumps(value) if isinstance(value, dict) else value for value in plain]
    for start in (0, 1):
        names, holes = ", ".join(columns[start:]), ", ".join("%s" for _ in columns[start:])
        with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"INSERT OR REPLACE INTO {model._meta.db_table} ({names}) VALUES ({holes})", plain[start:])

    assert list(model.objects.values_list()) == held


def test_the_audit_names_a_file_that_is_gone_or_was_touched(clinic, donor, settings):
    paper = issued(clinic, donor)
    path = settings.MEDIA_ROOT / "kept" / paper.sha256[:2] / f"{paper.sha256}.pdf"
    assert care.audit().findings == ()

    path.write_bytes(path.read_bytes() + b" ")

    assert care.audit().findings == (
        f"The file of paper 2026-0001 is missing, or not what was issued ({paper.sha256}).",
    )


def test_it_is_issued_and_corrected_on_its_pages_and_found_by_its_number(clinic, donor, client):
    signed_in(client, clinic.bookkeeper)
    days = {"from_on": "2026-01-01", "to_on": "2026-12-31"}

    sent = client.post(reverse("clinic:statement_issue", args=[donor.pk]), {"key": uuid.uuid4(), "form": "", **days})
    page = reverse("clinic:issued_paper", args=["2026-0001"])
    unchanged = client.get(page).content.decode()
    clinic.gift(Fund.objects.get(kind="general"), 900, donor_id=donor.pk)
    changed = client.get(page).content.decode()
    corrected = client.post(page, {"key": uuid.uuid4(), "why": "A gift came late.", "form": "full"})
    found = client.get(reverse("clinic:find"), {"q": "2026-0002"}).content.decode()

    assert sent["Location"] == page
    assert "The books still say the same" in unchanged
    assert "34.00" in changed
    assert corrected["Location"] == reverse("clinic:issued_paper", args=["2026-0002"])
    assert "No. 2026-0002, impact statement" in found
    again = client.post(reverse("clinic:statement_issue", args=[donor.pk]), {"key": uuid.uuid4(), "form": "", **days})
    assert (again.status_code, "tells of these days already" in again.content.decode()) == (422, True)


@pytest.mark.parametrize("number", ["2026-0009", "nothing", "2026", "2026-", "20266-1", "2026-99999999999999999999"])
def test_a_number_that_no_paper_has_is_not_found(clinic, donor, client, number):
    issued(clinic, donor)

    assert signed_in(client, clinic.reader).get(reverse("clinic:issued_paper", args=[number])).status_code == 404


def photographed(clinic, animal):
    """A photograph of the animal, and the owner's yes that donors may see it."""
    picture = io.BytesIO()
    Image.new("RGB", (1600, 1200), (120, 90, 60)).save(picture, format="JPEG")
    common = {"by": clinic.nurse, "today": TODAY, "at": AT}
    photo = photos.add(
        key=uuid.uuid4(), animal=animal, file=uploads.keep(picture.getvalue()), taken_on=TODAY,
        words="Bracken on three legs in the yard", **common,
    )  # fmt: skip
    return photos.consent(
        key=uuid.uuid4(), photo=photo, uses=["statement"], owner_said="Bea Larkin", people="", nobody_in_it=True,
        from_on=TODAY, until_on=None, **common,
    )  # fmt: skip


def test_a_photo_is_printed_with_consent_and_its_paper_handed_out_no_more_once_that_is_taken_back(clinic, donor):
    """I5: the issued file is kept and no longer served; a reissue has the same figures without the photograph."""
    animal = clinic.admit(on=DAY, partner=False).animal
    clinic.sign()
    consent = photographed(clinic, animal)
    first = issued(clinic, donor)
    kept = uploads.read(sha256=first.sha256, content_type=uploads.PDF)
    served_before = issued_query.content(paper=issued_query.paper_of(number="2026-0001"))

    photos.withdraw(consent=consent, on=TODAY, why="The family asked.", by=clinic.manager, at=AT)
    served_after = issued_query.content(paper=issued_query.paper_of(number="2026-0001"))
    second = issued(clinic, donor, replaces=first, why="The photograph may no longer be shown.")

    assert first.facts["photos"] == [consent.photo_id]
    assert len(PdfReader(io.BytesIO(kept)).pages[1].images) == 1
    assert (served_before, served_after) == (kept, None)
    assert (second.facts["photos"], second.facts["sums"]) == ([], first.facts["sums"])
    assert uploads.read(sha256=first.sha256, content_type=uploads.PDF) == kept
