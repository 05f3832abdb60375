"""The rooms of DESIGN.md import one way only, and heavy packages stay in their own room."""

from __future__ import annotations

import ast
import subprocess
from pathlib import Path

import networkx
import pytest

PACKAGE = Path(__file__).parents[1] / "soapstock"
ORDER = (
    "errors outfile units tables chemistry recipes cure labelling codes planning money ledger "
    "render scan exchange shop desk views enter papers upkeep cli page"
).split()
STRANGERS = (
    {"ledger", "render"},
    {"enter", "papers"},
    {"cli", "page"},
    {"page", "upkeep"},
)  # rooms that know nothing of each other
# The one door between the two faces: the command that starts the page.
DOORS = {("cli/page.py", "soapstock.page.serve")}
OUTSIDE = {"__init__", "__main__"}
HOME = {
    "sqlmodel": "ledger",
    "sqlalchemy": "ledger",
    "alembic": "ledger",
    "psycopg": "ledger",
    "reportlab": "render",
    "qrcode": "render",
    "highspy": "planning",
    "typer": "cli",
    "rich": "cli",
    "fastapi": "page",
    "starlette": "page",
    "uvicorn": "page",
    "jinja2": "exchange page",  # pages of the public and of the shop
}
PURE = {"units", "chemistry", "recipes", "cure", "labelling", "codes", "planning", "money"}
IMPURE = {"os", "pathlib", "sqlite3", "io", "time", "sys", "subprocess", "socket", "tempfile"}
FILES = sorted(p for p in PACKAGE.rglob("*.py") if "migrations" not in p.parts)


def room_of(path: Path) -> str:
    """The room a file lives in: the first folder, or the file's own name."""
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imported(path: Path) -> set[str]:
    """Names of all modules imported anywhere in the file."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: use absolute imports"
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return names


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_imports_point_inward(path: Path) -> None:
    """No file imports a room below its own, or a package kept for another room."""
    room = room_of(path)
    if room in OUTSIDE:
        return
    assert room in ORDER, f"{path}: room {room} is not in DESIGN.md's map"
    for name in imported(path):
        top, _, rest = name.partition(".")
        if top == "soapstock":
            target = rest.split(".")[0]
            if target == "__version__":
                continue
            assert target in ORDER, f"{path} imports {name}"
            if (path.relative_to(PACKAGE).as_posix(), name.rpartition(".")[0]) in DOORS:
                continue
            assert ORDER.index(target) <= ORDER.index(room), f"{path} imports {name}"
            assert {room, target} not in STRANGERS, f"{path} imports {name}"
        else:
            assert room in HOME.get(top, room).split(), f"{path} imports {name}"


@pytest.mark.parametrize(
    "path", [p for p in FILES if room_of(p) in PURE], ids=lambda p: str(p.relative_to(PACKAGE))
)
def test_domain_rooms_are_pure(path: Path) -> None:
    """Domain rooms reach no file, clock, database or process, and never ask today's date."""
    tops = {name.partition(".")[0] for name in imported(path)}
    assert not tops & IMPURE, f"{path} imports {tops & IMPURE}"
    source = path.read_text(encoding="utf-8")
    for clock in ("date.today(", "datetime.now(", "utcnow(", "open("):
        assert clock not in source, f"{path} uses {clock}"


def test_no_circle_among_files() -> None:
    """Files import each other without a circle, function-level and type-only imports included."""
    files = {".".join(p.relative_to(PACKAGE.parent).with_suffix("").parts): p for p in FILES}
    arrows = networkx.DiGraph()
    for name, path in files.items():
        for target in imported(path):
            whole = target if target in files else target.rpartition(".")[0]
            if whole in files and whole != name:
                arrows.add_edge(name, whole)
    circles = [sorted(c) for c in networkx.strongly_connected_components(arrows) if len(c) > 1]
    assert circles == []


def test_no_module_is_left_out_of_the_map() -> None:
    """Every folder and file of the package has a room in the map."""
    known = set(ORDER) | OUTSIDE | {"py.typed", "_shipped", "__pycache__"}
    assert {p.name.removesuffix(".py") for p in PACKAGE.iterdir()} <= known


@pytest.mark.parametrize(
    "path", [p for p in FILES if room_of(p) != "ledger"], ids=lambda p: str(p.relative_to(PACKAGE))
)
def test_no_room_but_the_ledger_holds_a_database(path: Path) -> None:
    """All reading stands behind Reader, all writing behind Writer: nobody takes their handle."""
    tree = ast.walk(ast.parse(path.read_text(encoding="utf-8")))
    assert not [node for node in tree if isinstance(node, ast.Attribute) and node.attr == "db"]


# Folders of a room, each with the folders of the same room that it may import.
FOLDERS_OF = {
    "ledger": {
        "base": {"base", "facts", "places"},
        "read": {"read", "base", "facts", "places"},
        "write": {"write", "base", "facts", "places"},
        "keep": {"keep", "write", "read", "base", "store", "facts", "places"},
        "store": {"write", "read", "base"},
        "facts": {"places"},
        "places": set(),
    },
    "render": {"pdf": {"pdf"}, "label": {"label", "pdf"}, "paper": {"paper", "pdf"}},
}


@pytest.mark.parametrize("room", FOLDERS_OF)
def test_folders_of_a_room_import_one_way(room: str) -> None:
    """Labels and papers stand on pdf alone; the ledger's reading and writing on its base."""
    for path in (PACKAGE / room).rglob("*.py"):
        folder = path.relative_to(PACKAGE / room).parts[0].removesuffix(".py")
        if folder == "__init__":
            continue
        for name in imported(path):
            if name.startswith(f"soapstock.{room}."):
                target = name.split(".")[2]
                assert target in FOLDERS_OF[room][folder], f"{path} imports {name}"


def test_the_top_level_holds_what_the_card_names() -> None:
    """A paper that a run left where it stood has been committed twice."""
    files = subprocess.run(
        ["git", "ls-files"],
        cwd=PACKAGE.parent,
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    tops = {line.partition("/")[0] for line in files.stdout.splitlines()}
    assert {top for top in tops if not top.startswith(".")} == {
        *("README.md", "DEVELOPERS.md", "pyproject.toml"),
        *("soapstock", "tests", "sample_data", "labels"),
    }
