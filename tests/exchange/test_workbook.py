"""Any list as a workbook, read back by openpyxl."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from soapstock.errors import BadInput
from soapstock.exchange.workbook import write_workbook

LISTS = ["curing", "stock", "entries", "order list", "today", "recipe list", "fat list", "lots"]


@pytest.mark.parametrize("line", LISTS)
def test_a_list_is_the_same_as_its_csv(
    run: Callable[..., Any], demo_shop: Path, tmp_path: Path, line: str
) -> None:
    """Row for row and heading for heading."""
    import csv
    import io

    path = tmp_path / "list.xlsx"
    shop = ["--shop", demo_shop, "--today", "2026-11-20"]
    told = run(*shop, "--xlsx", path, *line.split())
    assert told.code == 0, told.err
    wanted = list(csv.reader(io.StringIO(run(*shop, *line.split(), "--csv").out)))
    rows = list(load_workbook(path).active.iter_rows(values_only=True))
    assert [str(head) for head in rows[0]] == wanted[0]
    assert len(rows) == len(wanted)
    for row, other in zip(rows[1:], wanted[1:], strict=True):
        for value, text in zip(row, other, strict=True):
            said = text.removeprefix("'")
            if isinstance(value, bool) or value is None or isinstance(value, str):
                assert str("" if value is None else value).removeprefix("'") == said
            else:
                assert float(said) == pytest.approx(value)


def test_a_text_is_never_a_formula(tmp_path: Path) -> None:
    """Whatever it begins with; controls that a workbook cannot hold are left out."""
    path = tmp_path / "t.xlsx"
    write_workbook(path, "a/b", [{"who": "=1+1", "why": "a\x07b", "n": 3}])
    sheet = load_workbook(path).active
    assert (sheet["A2"].value, sheet["A2"].data_type) == ("=1+1", "s")
    assert (sheet["B2"].value, sheet["C2"].value, sheet["C2"].data_type) == ("ab", 3, "n")


def test_only_a_workbook_is_replaced(
    run: Callable[..., Any], demo_shop: Path, tmp_path: Path
) -> None:
    """Not a text by that name, nor the ledger; a command without a list says so."""
    (tmp_path / "t.xlsx").write_text("mine", encoding="utf-8")
    with pytest.raises(BadInput, match="it stays"):
        write_workbook(tmp_path / "t.xlsx", "t", [])
    shop = ["--shop", demo_shop]
    assert run(*shop, "--xlsx", demo_shop / "ledger.db", "stock").code == 2
    told = run(*shop, "--xlsx", tmp_path / "new.xlsx", "move", "--help")
    assert told.code == 0
    told = run(*shop, "--xlsx", tmp_path / "new.xlsx", "recipe", "show", "EBB")
    assert (told.code, "no list" in told.err) == (2, True)
    assert not (tmp_path / "new.xlsx").exists()
