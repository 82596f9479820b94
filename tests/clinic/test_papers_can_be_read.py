"""Every paper of the demo can be read by somebody who does not see it, and by any program that reads PDF.

PDF/UA-1 (ISO 14289-1, published rule) asks for tags, a language, a title, alternative texts, heads of cells and
letters that map to Unicode; the marks of its own are looked up here with another program than the one that drew them.
"""

import shutil
import subprocess

import pytest
from django.core.management import call_command
from django.urls import reverse

from clinic import models as clinic
from clinic.queries import issued_papers
from ledger.models import Closing, Donor
from tests.paper_structure import faults

pytestmark = pytest.mark.django_db(transaction=True)

REPORTS = ("roll-forward", "trial-balance", "activity", "related-party")


def addresses() -> dict[str, str]:
    donor = Donor.objects.get(name="Imke and Tobias Sandoval").pk
    animal = clinic.Animal.objects.get(name="Bracken").pk
    path = clinic.TreatmentPath.objects.get(ended_on=None).pk
    closing = Closing.objects.latest("entry").entry_id
    every = {
        "a draft of a statement": reverse("clinic:impact_statement_pdf", args=[donor]),
        "the case summary": reverse("clinic:case_summary_pdf", args=[path]),
        "the closing report": reverse("clinic:closing_pdf", args=[closing]),
        "who paid": reverse("clinic:who_paid_pdf", args=[animal]),
    }
    return every | {report: reverse("ledger:report_paper", args=[report]) for report in REPORTS}


@pytest.fixture
def papers(client, settings, tmp_path) -> dict[str, bytes]:
    """Every paper that the demo has issued, and one of every other template."""
    settings.MEDIA_ROOT, settings.AS_OF = tmp_path, "2026-10-14"
    call_command("build_demo", as_of="2026-10-14")
    client.force_login(clinic.User.objects.get(sign_in="amos"), "django.contrib.auth.backends.ModelBackend")
    issued = {
        f"{paper.kind} {paper.number}": issued_papers.content(paper=paper)
        for paper in clinic.IssuedPaper.objects.select_related("number")
    }
    return issued | {name: client.get(address).content for name, address in addresses().items()}


def test_every_paper_can_be_read(papers):
    assert {name.split()[0] for name in papers} >= {"impact_statement", "gift_receipt", "partner_statement"}

    found = {name: sorted(set(faults(content))) for name, content in papers.items()}

    assert {name: wrong for name, wrong in found.items() if wrong} == {}


@pytest.mark.skipif(not shutil.which("qpdf"), reason="qpdf is not on this machine")
def test_every_paper_is_sound(papers, tmp_path):
    wrong = {}
    for name, content in papers.items():
        path = tmp_path / "paper.pdf"
        path.write_bytes(content)
        checked = subprocess.run(["qpdf", "--check", path], capture_output=True, text=True)
        if checked.returncode:
            wrong[name] = checked.stdout + checked.stderr

    assert wrong == {}
