"""The look, asked of its values: contrast, one set of colors on screen and in drawings, pages that need no database.

Contrast is WCAG 2.2's ratio of relative luminances (published, W3C Recommendation of 2023-10-05).
"""

import re
from datetime import date
from io import BytesIO
from pathlib import Path

import pytest
from django.template.loader import render_to_string
from pypdf import PdfReader

from clinic.queries import parts
from config import charts, errors, render, templating
from config.charts import axes, drawing
from tests.clinic import door

ROOT = Path(__file__).resolve().parent.parent
TOKENS = dict(re.findall(r"(--[\w-]+):\s*(#[0-9a-f]{6})", (ROOT / "static/css/tokens.css").read_text()))


def luminance(color: str) -> float:
    def linear(channel: int) -> float:
        share = channel / 255
        return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4

    red, green, blue = (linear(int(color[n : n + 2], 16)) for n in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(TOKENS[one]), luminance(TOKENS[other])), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_black_on_white_is_21_to_1_as_published():
    assert (luminance("#ffffff") + 0.05) / (luminance("#000000") + 0.05) == pytest.approx(21)


@pytest.mark.parametrize("ground", ["--paper", "--blank", "--wash", "--white"])
@pytest.mark.parametrize("words", ["--ink", "--soft", "--pencil", "--do", "--heed"])
def test_words_are_read_on_every_ground(words, ground):
    assert contrast(words, ground) >= 4.5


@pytest.mark.parametrize("ground", ["--paper", "--blank"])
def test_the_edge_of_a_field_is_seen(ground):
    assert contrast("--rule", ground) >= 3


def test_words_on_a_filled_button_and_under_the_pointer_are_read():
    assert contrast("--white", "--do") >= 4.5
    assert contrast("--white", "--do-deep") >= 4.5
    assert contrast("--do-deep", "--do-wash") >= 4.5
    assert contrast("--heed", "--heed-wash") >= 4.5


@pytest.mark.parametrize("name", ["ink", "soft", "pencil", "rule", "hair", "paper", "wash", "heed"])
def test_drawings_use_the_colors_of_the_page(name):
    assert getattr(drawing, name.upper()) == TOKENS[f"--{name}"]


@pytest.mark.parametrize("name", ["400", "403", "404", "413", "stale_form", "busy", "locked_out"])
def test_a_page_for_what_goes_wrong_needs_no_database_and_says_what_to_do(name):
    page = render_to_string(f"errors/{name}.html")

    assert "<h1>" in page
    assert re.search(r"Nothing was (changed|written)", page)
    assert 'class="btn main"' in page


def test_the_500_page_shows_the_number_that_is_logged(rf, caplog):
    request = rf.get("/people/7/")
    request.resolver_match = None

    answer = errors.server_error(request)

    shown = re.search(r'class="fig next">(\w+)<', answer.content.decode())[1]
    assert answer.status_code == 500
    assert f"error {shown} " in caplog.text
    assert "/people/7/" not in caplog.text


@pytest.mark.django_db
def test_a_form_that_is_too_large_is_told_so(settings, client):
    door.house()
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 10

    answer = client.post("/sign-in/", {"username": "x" * 100})

    assert answer.status_code == 413
    assert "That is too large to take in" in answer.content.decode()


def test_the_engravings_lines_carry_the_gifts_and_nothing_else():
    """120.00 as 89.55, 26.67 and 3.78 in lines of five: 24 lines, by largest remainder 18, 5 and 1 (worked by hand)."""
    gift = charts.Source(amount_minor=12_000, when="April 22", fund="General", to=(8_955, 2_667, 378))
    targets = [
        charts.Target(words="Thimble", species="hedgehog"),
        charts.Target(words="Button", species="guinea pig"),
        charts.Target(words="Fees", kind="fee"),
    ]

    chart = charts.flow(name="f", title="t", desc="d", gifts=[gift], targets=targets, digits=2)

    for one in (chart.wide, chart.narrow):
        threads = [shape.d.count("C") for shape in one.shapes if "C" in getattr(shape, "d", "")]
        assert threads == [18, 5, 1]
    assert chart.table.rows[0].cells == ("89.55", "26.67", "3.78", "120.00")


@pytest.mark.parametrize("count", [2, 8, 12])
def test_an_engraving_keeps_to_the_room_that_its_leaf_leaves_and_carries_the_same_lines(count):
    gifts = [charts.Source(amount_minor=60_00, when="May 3", fund="General", to=(40_00, 20_00)) for _ in range(count)]
    targets = [charts.Target(words="Thimble", species="hedgehog"), charts.Target(words="Fees", kind="fee")]
    said = {"name": "f", "title": "t", "desc": "d", "gifts": gifts, "targets": targets, "digits": 2}
    free, held = charts.flow(**said), charts.flow(**said, room=370)

    def threads(drawn):
        return [shape.d.count("C") for shape in drawn.shapes if "C" in getattr(shape, "d", "")]

    assert free.wide.width == 672
    assert held.wide.height * 672 <= 372 * held.wide.width  # at its full width, whatever its scale
    assert held.wide.width <= 672 * 4 // 3  # its letters stay legible
    assert (threads(held.wide), held.table, held.narrow) == (threads(free.wide), free.table, free.narrow)


def test_labels_at_the_ends_never_touch():
    day = date(2026, 10, 1)
    lines = [
        charts.Line(words=f"line {n}", points=((day, 100_00 + n), (date(2026, 10, 9), 100_00 + n))) for n in range(4)
    ]

    chart = charts.steps(name="c", title="t", desc="d", lines=lines, digits=2)

    heights = sorted(float(shape.y) for shape in chart.wide.shapes if getattr(shape, "words", "").startswith("line "))
    assert all(below - above >= 28 for above, below in zip(heights, heights[1:], strict=False))


def test_a_balance_of_nothing_is_still_drawn():
    chart = charts.steps(
        name="c", title="t", desc="d", lines=[charts.Line(words="balance", points=((date(2026, 10, 1), 0),))], digits=2
    )

    assert chart.table.rows[0].cells == ("0.00",)
    assert axes.ticks(0, 0) == (0, 1)


def test_the_paper_with_its_engraving_is_drawn_the_same_every_time(db):
    facts = {"parts": parts.parts(), "paper_size": "letter", "kind": ""}

    first = render.pdf_bytes("clinic/parts/paper.html", **facts)

    assert first.startswith(b"%PDF")
    assert render.pdf_bytes("clinic/parts/paper.html", **facts) == first


@pytest.mark.parametrize(("paper", "points"), [("letter", (612, 792)), ("a4", (595, 842))])
def test_a_paper_has_the_size_of_its_country(db, paper, points):
    made = render.pdf_bytes("clinic/parts/paper.html", parts=parts.parts(), paper_size=paper, kind="")

    sheets = PdfReader(BytesIO(made)).pages
    assert [(round(sheet.mediabox.width), round(sheet.mediabox.height)) for sheet in sheets] == [points] * len(sheets)


def test_amounts_are_written_alike_on_pages_and_in_drawings():
    for amount, digits in ((123898, 2), (-5, 2), (1000, 0), (1234567, 3)):
        assert templating.minor_text(amount, digits) == drawing.written(amount, digits)


def test_words_of_people_cannot_write_html_through_a_part():
    nasty = '<script>alert("x")</script>'
    chart = charts.bars(
        name="c", title=nasty, desc=nasty, rows=[charts.Bar(words=nasty, amount_minor=1)], heads=(nasty, "m"), digits=2
    )

    assert "<script>" not in templating.chart(chart, "h2")
    assert "<script>" not in templating.beast(nasty)
    assert "<script>" not in templating.empty("", nasty)
