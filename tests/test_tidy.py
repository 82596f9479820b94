"""Tidiness as a test: what no page, part or file of this project may hold."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
SHEETS = sorted((ROOT / "static/css").glob("*.css"))
MODULES = sorted((ROOT / "static/js").glob("*.js"))
CODE = [
    path
    for room in ("config", "clinic", "ledger", "tests")
    for path in sorted((ROOT / room).rglob("*.py"))
    if "migrations" not in path.parts
]
# What the strict content policy would refuse to run, and what looks like a way round it.
INLINE = {
    "a style attribute": r"<[^>]*\sstyle\s*=",
    "a style element": r"<style\b",
    "an inline script": r"<script\b(?![^>]*\bsrc\s*=)",
    "a handler attribute": r"<[^>]*\son[a-z]+\s*=\s*[\"']",
    "a script address": r"javascript:",
    "an address outside the house": r"(?:src|href)\s*=\s*[\"']https?://",
    "htmx evaluating words": r"\bhx-on\b|hx-vals\s*=\s*[\"']js:",
}
# Hard limits in lines, and how many may pass the length that nearly all keep.
FUNCTION, FUNCTION_USUALLY, FUNCTIONS_LONGER = 70, 50, 0.02
FILE, FILE_USUALLY, FILES_LONGER = 400, 150, 0.15


def name(path: Path) -> str:
    return str(path.relative_to(ROOT))


def without_comments(text: str) -> str:
    return re.sub(r"\{% comment %\}.*?\{% endcomment %\}", "", text, flags=re.DOTALL)


@pytest.mark.parametrize("what", INLINE)
def test_no_template_holds(what):
    wrong = [name(path) for path in TEMPLATES if re.search(INLINE[what], without_comments(path.read_text()), re.I)]

    assert wrong == [], f"{what}"


def test_no_template_uses_the_safe_filter():
    wrong = [name(path) for path in TEMPLATES if re.search(r"\|\s*safe\b|autoescape off", path.read_text())]

    assert wrong == []


def test_every_part_opens_by_documenting_itself():
    parts = [path for path in TEMPLATES if path.parent.name == "components" or path.name.startswith("_")]
    # Django wants {% extends %} first, so a frame that pages extend documents itself in one line: {# … #}.
    opening = ("{% comment %}", "{% extends", "{#")

    assert parts
    assert [name(path) for path in parts if not path.read_text().startswith(opening)] == []


def test_every_page_names_itself():
    pages = [
        path for path in TEMPLATES if '{% extends "base.html" %}' in path.read_text() and not path.name.startswith("_")
    ]

    assert pages
    assert [name(path) for path in pages if "{% block title %}" not in path.read_text()] == []


def test_colors_stand_in_the_tokens_alone():
    wrong = [
        f"{name(path)}: {found}"
        for path in SHEETS
        if path.name != "tokens.css"
        for found in re.findall(r"#[0-9a-fA-F]{3,8}\b|rgba?\(", path.read_text())
    ]

    assert wrong == []


def test_every_token_that_is_used_exists():
    known = set(re.findall(r"(--[\w-]+)\s*:", (ROOT / "static/css/tokens.css").read_text()))
    used = {(name(path), token) for path in SHEETS for token in re.findall(r"var\((--[\w-]+)", path.read_text())}

    assert sorted((sheet, token) for sheet, token in used if token not in known) == []


def test_every_sheet_and_module_says_what_it_is_for():
    assert [name(path) for path in SHEETS if not path.read_text().startswith("/*")] == []
    assert [name(path) for path in MODULES if not path.read_text().startswith("//")] == []


def test_modules_evaluate_nothing_and_write_no_html():
    ban = r"\beval\(|new Function|innerHTML|outerHTML|insertAdjacentHTML|document\.write|\.style\b"

    assert [name(path) for path in MODULES if re.search(ban, path.read_text())] == []


def test_every_python_file_opens_with_its_purpose():
    wrong = [
        name(path)
        for path in CODE
        if path.read_text().strip() and ast.get_docstring(ast.parse(path.read_text())) is None
    ]

    assert wrong == []


def test_a_todo_has_a_name_and_a_date():
    mark = "TO" + "DO"
    wrong = [
        f"{name(path)}:{number}"
        for path in (*CODE, *TEMPLATES, *SHEETS, *MODULES)
        for number, line in enumerate(path.read_text().splitlines(), 1)
        if mark in line and not re.search(mark + r"\([\w. -]+, \d{4}-\d{2}-\d{2}\)", line)
    ]

    assert wrong == []


def _application() -> list[Path]:
    return [path for path in (*CODE, *TEMPLATES, *SHEETS, *MODULES) if path.relative_to(ROOT).parts[0] != "tests"]


def test_functions_stay_short():
    lengths = {
        f"{name(path)}:{node.lineno} {node.name}": node.end_lineno - node.lineno + 1
        for path in _application()
        if path.suffix == ".py"
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.FunctionDef)
    }
    long = [function for function, length in lengths.items() if length > FUNCTION_USUALLY]

    assert [function for function in long if lengths[function] > FUNCTION] == []
    assert len(long) <= FUNCTIONS_LONGER * len(lengths), long


def test_files_stay_short():
    lengths = {name(path): len(path.read_text().splitlines()) for path in _application()}
    long = [file for file, length in lengths.items() if length > FILE_USUALLY]

    assert [file for file in long if lengths[file] > FILE] == []
    assert len(long) <= FILES_LONGER * len(lengths), long
