"""The rooms and their floors: what may import what."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
# Lower floors first; a module may import its own floor's neighbors and everything below.
FLOORS = ("formulas", "models", "work", "views", "urls")
FLOOR_OF = {
    "formulas": "formulas",
    "models": "models",
    "triggers": "models",
    "posting": "work",
    "audit": "work",
    "actions": "work",
    "queries": "work",
    "forms": "work",
    "access": "work",
    "views": "views",
    "urls": "urls",
}
OPEN_TO_CLINIC = ("ledger.actions", "ledger.queries", "ledger.formulas", "ledger.audit")
# Everything a formula may lean on: arithmetic, dates, plain data.
PURE = {
    "__future__",
    "bisect",
    "collections",
    "dataclasses",
    "datetime",
    "decimal",
    "enum",
    "fractions",
    "functools",
    "hashlib",
    "heapq",
    "itertools",
    "json",
    "math",
    "numbers",
    "operator",
    "pandas",
    "re",
    "statistics",
    "string",
    "types",
    "typing",
    "unicodedata",
    "uuid",
}  # fmt: skip


def modules(room: str) -> list[Path]:
    return [path for path in sorted((ROOT / room).rglob("*.py")) if "migrations" not in path.parts]


def imports(path: Path) -> list[tuple[str, int]]:
    found = []
    package = path.relative_to(ROOT).with_suffix("").parts[:-1]
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            found += [(alias.name, node.lineno) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = ".".join(package[: len(package) - node.level + 1]) if node.level else ""
            module = ".".join(part for part in (base, node.module) if part)
            found += [(f"{module}.{alias.name}", node.lineno) for alias in node.names]
    return found


def floor(parts: tuple[str, ...]) -> str | None:
    return FLOOR_OF.get(parts[1].removesuffix(".py")) if len(parts) > 1 else None


@pytest.mark.parametrize("room", ["clinic", "ledger"])
def test_imports_run_downwards_inside_a_room(room):
    wrong = []
    for path in modules(room):
        here = floor(path.relative_to(ROOT).parts)
        for name, line in imports(path):
            there = floor(tuple(name.split("."))) if name.split(".")[0] == room else None
            if here and there and FLOORS.index(there) > FLOORS.index(here):
                wrong.append(f"{path.relative_to(ROOT)}:{line} imports {name}")
            if path.parts[-2] in {"forms", "queries"} and name.startswith(f"{room}.actions"):
                wrong.append(f"{path.relative_to(ROOT)}:{line}: {path.parts[-2]} never write, yet import {name}")

    assert wrong == []


def test_ledger_knows_nothing_of_the_clinic():
    wrong = [
        f"{path}:{line}" for path in modules("ledger") for name, line in imports(path) if name.startswith("clinic")
    ]

    assert wrong == []


def test_clinic_uses_only_the_ledgers_open_doors():
    wrong = [
        f"{path.relative_to(ROOT)}:{line} imports {name}"
        for path in modules("clinic")
        for name, line in imports(path)
        if name.split(".")[0] == "ledger" and not name.startswith(OPEN_TO_CLINIC)
    ]

    assert wrong == []


@pytest.mark.parametrize("room", ["clinic", "ledger"])
def test_formulas_are_pure(room):
    wrong = []
    for path in (ROOT / room / "formulas").rglob("*.py"):
        for name, line in imports(path):
            top = name.split(".")[0]
            own = name.startswith(("clinic.formulas", "ledger.formulas"))
            if top not in PURE and not own:
                wrong.append(f"{path.relative_to(ROOT)}:{line} imports {name}")

    assert wrong == []


def test_only_posting_writes_the_books():
    books = {"Entry", "Posting", "Charge", "Share", "Use", "Inflow", "Shortfall", "FundDay"}
    writers = {
        "create",
        "bulk_create",
        "update",
        "delete",
        "bulk_update",
        "get_or_create",
        "update_or_create",
    }
    wrong = []
    for path in modules("ledger") + modules("clinic"):
        if path.name == "posting.py":
            continue
        for node in ast.walk(ast.parse(path.read_text())):
            called = node.func if isinstance(node, ast.Call) else None
            if isinstance(called, ast.Attribute) and called.attr in writers:
                owner = called.value.value if isinstance(called.value, ast.Attribute) else None
                if isinstance(owner, ast.Name) and owner.id in books:
                    wrong.append(f"{path.relative_to(ROOT)}:{node.lineno} writes {owner.id}")

    assert wrong == []


def test_top_level_holds_nothing_else():
    allowed = {
        "README.md", "DEVELOPERS.md", "LICENSE", "manage.py", "pyproject.toml", "requirements.lock", "run", ".ci",
        ".gitignore", "config", "clinic", "ledger", "templates", "static", "tests", "fixtures",
        # ignored by git
        ".git", "var", ".pytest_cache", ".mypy_cache", ".ruff_cache", ".hypothesis", "__pycache__",
    }  # fmt: skip

    assert {path.name for path in ROOT.iterdir()} - allowed == set()
