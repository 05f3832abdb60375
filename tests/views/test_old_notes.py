"""Old notes: what is understood, guessed and missing; taken in once, as history, and out again.

The notes are invented.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import xlsxwriter

from soapstock.desk.desk import Desk
from soapstock.enter.old_notes import take_pages
from soapstock.enter.undo import undo
from soapstock.errors import BadInput
from soapstock.exchange.notes import NotesMap, mapping_text, read_mapping, read_notes
from soapstock.views.batch import views
from soapstock.views.old_notes import OldPage, offered_map, old_pages, understand
from soapstock.views.stock import ingredient_lots
from tests.desks import desk

__all__ = ["desk"]

ROWS = [
    ["When", "Soap", "Tallow (oz)", "Coconut oil, g", "Lye", "Water", "Bars", "Room"],
    ["10/25/2025", "Ebb", "25.4", "280", "143 g", "233", "10", "cold"],
    ["11/02/2025", "Sunday bar", "20", "", "66", "", "", ""],
]


def read(desk: Desk, path: Path, given: NotesMap | None = None) -> list[OldPage]:
    """The pages of a file as they are understood."""
    pages = read_notes(path)
    return understand(desk, pages, offered_map(desk, pages, given or NotesMap()))


def csv_of(path: Path) -> Path:
    """The rows as CSV."""
    path.write_text("\n".join('"' + '","'.join(row) + '"' for row in ROWS), encoding="utf-8")
    return path


def test_columns_of_any_heading(desk: Desk, tmp_path: Path) -> None:
    """Units from headings, days in the order that one of them shows, guesses and gaps by name."""
    ebb, sunday = read(desk, csv_of(tmp_path / "n.csv"))
    assert (ebb.poured_on, ebb.variety, ebb.bars) == (date(2025, 10, 25), "Ebb", 10)
    assert ebb.note == "Room: cold"
    masses = {m.ingredient: m.mass_g for m in ebb.masses}
    assert masses["beef-tallow"] == pytest.approx(Decimal("25.4") * Decimal("28.349523125"))
    assert (masses["coconut"], masses["naoh"], masses["water"]) == (280, 143, 233)
    assert ebb.guessed == ("in g: water",)
    assert ebb.question == ""
    assert (sunday.poured_on, sunday.bars) == (date(2025, 11, 2), None)
    assert "11/02/2025 is 2025-11-02" in sunday.guessed
    assert any("Sunday bar" in guess for guess in sunday.guessed)


@pytest.mark.parametrize("writer", ["openpyxl", "xlsxwriter"])
def test_workbooks_of_two_writers(desk: Desk, tmp_path: Path, writer: str) -> None:
    """The same pages as the CSV says; days and numbers may be real ones."""
    path = tmp_path / "n.xlsx"
    if writer == "openpyxl":
        book = openpyxl.Workbook()
        for row in ROWS:
            book.active.append(row)
        book.active["A2"] = date(2025, 10, 25)
        book.save(path)
    else:
        made = xlsxwriter.Workbook(path)
        sheet = made.add_worksheet("Notes")
        for n, row in enumerate(ROWS):
            for m, cell in enumerate(row):
                sheet.write(n, m, float(cell) if cell == "280" else cell)
        made.close()
    got, wanted = read(desk, path), read(desk, csv_of(tmp_path / "n.csv"))
    assert [p.masses[0].mass_g for p in got] == [p.masses[0].mass_g for p in wanted]
    assert [p.bars for p in got] == [p.bars for p in wanted]
    assert got[0].poured_on == wanted[0].poured_on


def test_rows_of_one_ingredient_each(desk: Desk, tmp_path: Path) -> None:
    """Put together by day and variety."""
    path = tmp_path / "n.csv"
    path.write_text(
        "Date;Batch;Ingredient;Amount\n2025-10-01;Ebb;tallow;720 g\n2025-10-01;Ebb;coconut;280g\n"
        "2025-10-01;Ebb;lye;143g\n2025-10-09;Ebb;tallow;1 kg\n",
        encoding="utf-8",
    )
    first, second = read(desk, path)
    assert [m.ingredient for m in first.masses] == ["beef-tallow", "coconut", "naoh"]
    assert second.poured_on == date(2025, 10, 9)
    assert second.question == "How much lye went in?"


def test_pages_typed_as_they_stand(desk: Desk, tmp_path: Path) -> None:
    """Any order of name and mass, plain names, two units together, a gap, a day with its month."""
    path = tmp_path / "n.txt"
    path.write_text(
        "12 Oct 2025 - Ebb: tallow 1 lb 9.4 oz, 280 g coconut oil, lye 143, water 233\n10 bars\n"
        "\n2025-11-02, Driftwood: tallow 680g, olive oil 200g, coconut ?, lye 110 g\n"
        "smelled fine\n",
        encoding="utf-8",
    )
    first, second = read(desk, path)
    assert (first.poured_on, first.variety, first.bars) == (date(2025, 10, 12), "Ebb", 10)
    assert [m.ingredient for m in first.masses] == ["beef-tallow", "coconut", "naoh", "water"]
    assert first.masses[0].mass_g == pytest.approx(Decimal("719.88"), abs=Decimal("0.5"))
    assert second.missing == ("the mass of coconut",)
    assert second.question == "How much coconut went in?"
    assert second.note == "smelled fine"


def test_notes_are_history_and_enter_once(desk: Desk, tmp_path: Path) -> None:
    """No lot, no bar moves; the same file again enters nothing; undo takes all out."""
    path = csv_of(tmp_path / "n.csv")
    before = (
        [v.facts.lot_code for v in views(desk)],
        ingredient_lots(desk, None, everything=True),
    )
    done = take_pages(desk, path.name, read(desk, path))
    assert [row.where for row in old_pages(desk)] == ["line 2", "line 3"]
    assert all(page.known for page in read(desk, path))
    assert take_pages(desk, path.name, read(desk, path)) is None
    assert before == (
        [v.facts.lot_code for v in views(desk)],
        ingredient_lots(desk, None, everything=True),
    )
    undo(desk, done.entry_id, "the wrong file")
    assert old_pages(desk) == []
    assert take_pages(desk, path.name, read(desk, path)) is not None


def test_a_mapping_is_kept_and_read(desk: Desk, tmp_path: Path) -> None:
    """What was offered, written as TOML, reads alike; the maker's own word stands."""
    pages = read_notes(csv_of(tmp_path / "n.csv"))
    offered = offered_map(desk, pages, NotesMap())
    assert read_mapping(mapping_text(offered), "m.toml") == offered
    own = NotesMap(columns={"Room": "note", "Water": ""}, unit="oz")
    found = understand(desk, pages, offered_map(desk, pages, own))
    assert "water" not in {m.ingredient for m in found[0].masses}
    assert found[0].note == "Water: 233; cold"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('unit = "stone"', "unit"),
        ('date_order = "ymd"', "date_order"),
        ("[columns]\nWhen = 3", "columns"),
        ('colour = "red"', "colour"),
    ],
)
def test_a_wrong_mapping_is_told(text: str, said: str) -> None:
    """File, line and key."""
    with pytest.raises(BadInput, match=said):
        read_mapping(text, "m.toml")


def test_what_no_column_can_mean_is_told(desk: Desk, tmp_path: Path) -> None:
    """With what it could mean."""
    pages = read_notes(csv_of(tmp_path / "n.csv"))
    with pytest.raises(BadInput, match="cannot mean 'moon'"):
        understand(desk, pages, NotesMap(columns={"When": "moon"}))


@pytest.mark.parametrize(("name", "data"), [("n.xlsx", b"PK\3\4 none"), ("n.csv", b"a\0b")])
def test_what_is_no_notes_is_told(tmp_path: Path, name: str, data: bytes) -> None:
    """No traceback."""
    (tmp_path / name).write_bytes(data)
    with pytest.raises(BadInput):
        read_notes(tmp_path / name)


def test_what_columns_mean_is_kept_for_the_next_notes(
    demo_shop: Path, run: Callable[..., Any], tmp_path: Path
) -> None:
    """Once entered by a mapping, notes with those headings, or fewer, are read by it again."""
    words = ("--shop", demo_shop, "--today", "2026-11-20", "take-in")
    mapping = tmp_path / "m.toml"
    mapping.write_text('date_order = "dmy"\n[columns]\n"Lye" = "water"\n', encoding="utf-8")
    first = tmp_path / "a.csv"
    first.write_text("When,Soap,Lye,Bars\n2/11/2025,Ebb,143 g,10\n", encoding="utf-8")
    told = run(*words, first, "--map", mapping, "--enter")
    assert told.code == 0, told.err
    second = tmp_path / "b.csv"
    second.write_text("When,Soap,Lye\n3/11/2025,Ebb,150 g\n", encoding="utf-8")
    told = run(*words, second)
    assert "They are read by" in told.out
    assert "2025-11-03" in told.out
    assert "water 150 g" in told.out
