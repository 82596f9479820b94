"""Every paper of the demo, as it is and stretched, can be read by somebody who does not see it, and by any program.

PDF/UA-1 (ISO 14289-1, published rule) asks for tags, a language, a title, alternative texts, heads of cells and
letters that map to Unicode; the marks of its own are looked up here with another program than the one that drew them.
How each looks from afar is kept in `tests/paper_pictures`.
"""

import os
import shutil
import subprocess
from typing import Any

import pytest
from django.core.management import call_command
from django.urls import reverse
from PIL import ImageDraw

from clinic import models as clinic
from clinic.queries import issued_papers
from config import render
from ledger.models import Closing, Donor, Fund
from tests import paper_pictures
from tests.paper_states import STATES, as_it_is
from tests.paper_structure import faults

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.drawn]

REPORTS = ("roll-forward", "trial-balance", "activity", "related-party")
KINDS = {"impact_statement", "gift_receipt", "partner_statement"}


def addresses() -> list[str]:
    donor = Donor.objects.get(name="Imke and Tobias Sandoval").pk
    animal = clinic.Animal.objects.get(name="Bracken").pk
    path = clinic.TreatmentPath.objects.get(ended_on=None).pk
    closing = Closing.objects.latest("entry").entry_id
    return [
        reverse("clinic:impact_statement_pdf", args=[donor]),
        reverse("clinic:case_summary_pdf", args=[path]),
        reverse("clinic:closing_pdf", args=[closing]),
        reverse("clinic:who_paid_pdf", args=[animal]),
        reverse("clinic:cage_card", args=[animal]),
        reverse("clinic:board_report_pdf"),
        reverse("clinic:grant_report_pdf", args=[Fund.objects.get(name="Surgery fund").pk]),
        reverse("clinic:appeal_pdf", args=[clinic.Appeal.objects.earliest("pk").pk]),
        *(reverse("ledger:report_paper", args=[report]) for report in REPORTS),
    ]


class Papers:
    """What was drawn while it listened: each paper's bytes, and of each template the facts of the last."""

    def __init__(self) -> None:
        self.content: dict[str, bytes] = {}
        self.facts: dict[str, dict[str, Any]] = {}

    def listen(self, template: str, **facts: Any) -> bytes:
        self.facts[template] = facts
        return render.draw(render.render_to_string(template, facts))

    def stretched(self, template: str, state) -> bytes:
        facts = {name: state(value) for name, value in self.facts[template].items()}
        return render.draw(render.render_to_string(template, facts))


@pytest.fixture
def papers(client, settings, tmp_path, monkeypatch) -> Papers:
    """Every paper that the demo has issued, and one of every other template."""
    settings.MEDIA_ROOT, settings.AS_OF = tmp_path, "2026-10-14"
    found = Papers()
    monkeypatch.setattr(render, "pdf_bytes", found.listen)
    call_command("build_demo", as_of="2026-10-14")
    client.force_login(clinic.User.objects.get(sign_in="amos"), "django.contrib.auth.backends.ModelBackend")
    for paper in clinic.IssuedPaper.objects.select_related("number"):
        found.content[f"{paper.kind} {paper.number}"] = issued_papers.content(paper=paper) or b""
    for address in addresses():
        answer = client.get(address)
        assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf"), address
        found.content[address] = answer.content
    return found


def test_every_paper_as_it_is_and_stretched_can_be_read_is_sound_and_looks_as_it_did(papers, tmp_path):
    assert {name.split()[0] for name in papers.content} >= KINDS
    assert len(papers.facts) == 11, sorted(papers.facts)

    sheets = {}
    for template in papers.facts:
        name = template.split("/")[1]
        drawn = {state.__name__: papers.stretched(template, state) for state in STATES}
        sheets[name] = paper_pictures.side_by_side(
            leaf for content in drawn.values() for leaf in paper_pictures.leaves(content)
        )
        del drawn[as_it_is.__name__]  # that one is there already
        papers.content |= {f"{name}, {state}": content for state, content in drawn.items()}

    found = {name: sorted(set(faults(content))) for name, content in papers.content.items()}
    assert {name: wrong for name, wrong in found.items() if wrong} == {}
    assert unsound(papers.content, tmp_path) == {}
    if os.environ.get("TAKE_PAPER_PICTURES"):
        for name, sheet in sheets.items():
            paper_pictures.keep(name, sheet)
    others = {name: paper_pictures.other_cells(name, sheet) for name, sheet in sheets.items()}
    for name, share in others.items():
        if share > paper_pictures.MOST:
            sheets[name].save(tmp_path / f"{name}.png")
    assert {name: share for name, share in others.items() if share > paper_pictures.MOST} == {}, tmp_path
    assert_a_missing_table_is_seen("impact_statement", sheets["impact_statement"])


def unsound(papers: dict[str, bytes], folder) -> dict[str, str]:
    """Ask another program whether each file is sound; without it on this machine nothing is said."""
    if not shutil.which("qpdf"):
        return {}
    wrong = {}
    for name, content in papers.items():
        path = folder / "paper.pdf"
        path.write_bytes(content)
        checked = subprocess.run(["qpdf", "--check", path], capture_output=True, text=True)
        if checked.returncode:
            wrong[name] = checked.stdout + checked.stderr
    return wrong


def assert_a_missing_table_is_seen(name: str, sheet) -> None:
    """The comparison finds what it is there for: the words in the midst of a leaf are gone."""
    ImageDraw.Draw(sheet).rectangle((0, sheet.height // 4, paper_pictures.WIDTH, sheet.height * 3 // 4), fill=255)
    assert paper_pictures.other_cells(name, sheet) > paper_pictures.MOST
