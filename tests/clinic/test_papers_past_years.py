"""Papers of an erased donor are kept for the years of the policy, then destroyed by a manager and by nobody else (J4).

How many years a paper must be kept is local law, which the program does not know: seven is the house's own policy here.
"""

import io
import json
import uuid
from datetime import date
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import IntegrityError, transaction
from django.urls import reverse

from clinic import audit as care_audit
from clinic.actions import destroy_papers as actions
from clinic.actions.erase_donor import erase_donor
from clinic.actions.issue_receipt import issue_receipt
from clinic.formulas.in_return import InReturn
from clinic.models import House, IssuedPaper, PaperDestruction
from clinic.queries import issued_papers
from clinic.queries import papers_past_years as queries
from config.backups import outliving, restoring
from ledger import audit as books_audit
from ledger.actions import donors
from ledger.models import Fund
from tests.clinic import make
from tests.clinic.make import AT, TODAY

pytestmark = pytest.mark.django_db

LAST, AFTER = date(2033, 12, 31), date(2034, 1, 1)  # seven years from the end of 2026
WHY = "Kept as long as the law asks."


@pytest.fixture
def clinic(settings, tmp_path):
    """A clinic with the receipts of two donors; the name of the first was erased."""
    settings.MEDIA_ROOT, settings.BACKUP_ROOT = tmp_path / "media", tmp_path / "backups"
    settings.AS_OF = "2026-10-14"
    clinic = make.open_clinic()
    for name in ("Imke Sandovalle", "Ben Orr"):
        donor = donors.add(key=uuid.uuid4(), name=name, on=TODAY, by=clinic.bookkeeper.pk)
        clinic.gift(Fund.objects.get(kind="general"), 50_00, donor_id=donor.pk)
        nothing = InReturn(words="", benefit_minor=0, items_cost_minor=None, receipted_by="us", is_declared=False)
        common = {"house": House.objects.get(), "by": clinic.bookkeeper, "today": TODAY, "at": AT}
        issue_receipt(key=uuid.uuid4(), donor_id=donor.pk, year=2026, returned=nothing, **common)
    first = IssuedPaper.objects.order_by("id").first()
    erase_donor(donor_id=first.donor_id, why="Asked for it.", by=clinic.bookkeeper.pk, today=TODAY, at=AT)
    settings.AS_OF = f"{AFTER}"
    return clinic


@pytest.fixture
def paper(clinic) -> IssuedPaper:
    return IssuedPaper.objects.order_by("id").first()


def destroy(clinic, *numbers: object, why: str = WHY, today: date = AFTER) -> int:
    return actions.destroy_papers(numbers=[*map(str, numbers)], why=why, by=clinic.manager, today=today, at=AT)


def files() -> set[str]:
    from django.conf import settings

    return {path.stem for path in (Path(settings.MEDIA_ROOT) / "kept").rglob("*.pdf")}


def test_only_of_an_erased_donor_and_only_when_its_years_are_over(clinic, paper):
    other = IssuedPaper.objects.order_by("id").last()
    before = files()

    assert queries.past_years(today=LAST) == ()
    assert [one.number for one in queries.past_years(today=AFTER)] == [str(paper.number)]
    for numbers, why, today, refusal in (
        ([paper.number], WHY, LAST, actions.YearsNotOver),
        ([paper.number, other.number], WHY, AFTER, actions.YearsNotOver),
        ([], WHY, AFTER, actions.NothingChosen),
        ([paper.number], "  ", AFTER, actions.WhyMissing),
    ):
        with pytest.raises(refusal, match="Nothing was destroyed"):
            destroy(clinic, *numbers, why=why, today=today)
    assert (files(), PaperDestruction.objects.count()) == (before, 0)
    assert outliving.read(Path(clinic_backups()), name=outliving.DESTROYED) == []


def clinic_backups() -> str:
    from django.conf import settings

    return str(settings.BACKUP_ROOT)


def test_the_file_goes_and_number_figures_and_digest_stay(clinic, paper, client):
    before = (str(paper.number), paper.facts, paper.sha256)

    assert destroy(clinic, paper.number) == 1

    kept = IssuedPaper.objects.get(pk=paper.pk)
    assert (str(kept.number), kept.facts, kept.sha256) == before
    assert paper.sha256 not in files() and len(files()) == 1
    assert issued_papers.content(paper=issued_papers.paper_of(number=before[0]), for_the_books=True) is None
    client.force_login(clinic.reader, "django.contrib.auth.backends.ModelBackend")
    assert client.get(reverse("clinic:issued_paper_file", args=[before[0]])).status_code == 404
    told = " ".join(client.get(reverse("clinic:issued_paper", args=[before[0]])).content.decode().split())
    assert f"by Amos Yelland: {WHY}" in told and "The paper, PDF" not in told
    assert queries.past_years(today=AFTER) == ()
    with pytest.raises(actions.YearsNotOver):
        destroy(clinic, paper.number)
    assert care_audit.audit().findings == () == books_audit.audit().findings
    for change in (lambda row: row.update(why="x"), lambda row: row.delete()):
        with pytest.raises(IntegrityError), transaction.atomic():
            change(PaperDestruction.objects.filter(paper=paper))


def test_stopped_on_the_way_it_is_found_and_finished(clinic, paper, monkeypatch):
    with monkeypatch.context() as stopped:
        stopped.setattr(actions, "remove_files", lambda: None)
        destroy(clinic, paper.number)
    (finding,) = care_audit.audit().findings
    assert f"The file of paper {paper.number} was destroyed by name and is there" in finding

    call_command("destroy_papers", "--by", clinic.manager.sign_in, "--why", WHY, stdout=io.StringIO())

    assert paper.sha256 not in files() and care_audit.audit().findings == ()


def test_a_copy_that_is_put_back_loses_it_again(clinic, paper):
    """The copy holds the file and not that it was destroyed; the list beside the backups does."""
    kept = Path(clinic_backups()).parent / "media" / "kept" / paper.sha256[:2] / f"{paper.sha256}.pdf"
    content = kept.read_bytes()
    line = outliving.Erased(key=str(paper.number.key), on=f"{AFTER}", by=clinic.manager.pk, why=WHY)
    outliving.write_down([line], name=outliving.DESTROYED)

    restoring.put_back.send(sender=None, folder=None)

    assert content and not kept.exists()
    assert PaperDestruction.objects.get(paper=paper).by == clinic.manager
    assert "name" not in json.loads((Path(clinic_backups()) / outliving.DESTROYED).read_text())[0]


def test_on_its_page_a_manager_destroys_it_and_nobody_else(clinic, paper, client):
    address = reverse("clinic:papers_past_years")
    said = {"numbers": [str(paper.number)], "why": WHY, "sure": "on"}
    client.force_login(clinic.bookkeeper, "django.contrib.auth.backends.ModelBackend")
    seen = client.get(address).content.decode()
    assert str(paper.number) in seen and "Destroy the files" not in seen
    assert client.post(address, said).status_code == 403
    client.force_login(clinic.manager, "django.contrib.auth.backends.ModelBackend")

    unsure = client.post(address, {**said, "sure": ""})
    done = client.post(address, said)

    assert unsure.status_code == 422 and "Tick that these files may go" in unsure.content.decode()
    assert done.status_code == 303 and PaperDestruction.objects.get().why == WHY
    after = client.get(address).content.decode()
    assert "No paper of a donor whose name was erased is past its years." in after and WHY in after


def test_the_command_says_first_and_asks_for_a_manager(clinic, paper):
    told, wrong = io.StringIO(), io.StringIO()
    call_command("destroy_papers", "--check", "--json", stdout=told)
    listed = {"number": str(paper.number), "kind": "gift receipt", "kept_through": f"{LAST}"}
    assert json.loads(told.getvalue()) == {"papers": [listed | {"kind": paper.get_kind_display()}]}
    assert paper.sha256 in files()

    with pytest.raises(SystemExit) as nobody:
        call_command("destroy_papers", "--by", clinic.bookkeeper.sign_in, "--why", WHY, stderr=wrong)
    with pytest.raises(SystemExit) as without:
        call_command("destroy_papers", "--by", clinic.manager.sign_in, stderr=wrong)

    assert (nobody.value.code, without.value.code) == (2, 1)
    assert "A manager destroys papers" in wrong.getvalue() and "Write in a few words why" in wrong.getvalue()
    assert paper.sha256 in files()
