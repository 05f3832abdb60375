"""The commands `design ...` and `label-run` as a maker uses them."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Told

Run = Callable[..., Told]


def test_faces_and_sheets_are_listed_without_a_shop(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever has no shop yet can still look; JSON for machines."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert "band" in run("design", "faces").out
    rows = json.loads(run("design", "sheets", "--json").out)
    assert {"sheet", "label_mm", "labels"} <= set(rows[0])


def test_a_calibration_page_is_written(run: Run, demo_shop: Path, tmp_path: Path) -> None:
    """One PDF, where told."""
    out = tmp_path / "c.pdf"
    told = run("--shop", demo_shop, "design", "calibrate", "a4-2x4", "--out", out)
    assert told.code == 0
    assert out.read_bytes().startswith(b"%PDF")


def test_an_unknown_sheet_and_a_wrong_offset_are_told_in_a_line(
    run: Run, demo_shop: Path, tmp_path: Path
) -> None:
    """Exit codes 3 and 2, and near names."""
    told = run("--shop", demo_shop, "design", "calibrate", "a4-2x5")
    assert told.code == 3
    assert "a4-2x4" in told.err
    out = tmp_path / "c.pdf"
    told = run(
        "--shop", demo_shop, "design", "calibrate", "a4-2x4", "--offset", "1mm", "--out", out
    )
    assert told.code == 2
    assert not out.exists()


def test_a_run_says_how_many_labels_and_which_rule_bounds_each_size(
    run: Run, demo_shop: Path, tmp_path: Path
) -> None:
    """--explain names the regulation behind the net weight's height."""
    path, out = tmp_path / "list.csv", tmp_path / "l.pdf"
    rows = json.loads(run("--shop", demo_shop, "--today", "2026-11-20", "ready", "--json").out)
    path.write_text(f"lot,copies\n{rows[0]['lot']},7\n", encoding="utf-8")
    told = run(
        "--shop",
        demo_shop,
        "--today",
        "2026-11-20",
        "label-run",
        path,
        "--out",
        out,
        "--start-at",
        "2",
        "--explain",
    )
    assert told.code == 0
    assert "7 labels on 2 pages" in told.out
    assert "16 CFR 500.21(b)" in told.out


def test_a_run_with_a_wrong_lot_changes_nothing(run: Run, demo_shop: Path, tmp_path: Path) -> None:
    """The line of the list is named and no PDF appears."""
    path, out = tmp_path / "list.csv", tmp_path / "l.pdf"
    path.write_text("lot,copies\nNOPE,1\n", encoding="utf-8")
    told = run("--shop", demo_shop, "--today", "2026-11-20", "label-run", path, "--out", out)
    assert told.code in (2, 3)
    assert "list.csv:2:" in told.err.replace("\n", "")
    assert not out.exists()


def test_a_label_is_explained_with_its_sizes_and_the_level_of_its_code(
    run: Run, demo_shop: Path
) -> None:
    """Rules of the statements, then the sizes they come to on the face, then the QR code."""
    told = run(
        "--shop",
        demo_shop,
        "--today",
        "2026-11-20",
        "label",
        "DRF-26241-AZ",
        "--explain",
        "--face",
        "tag",
    )
    assert told.code == 0
    assert "On face tag, sheet" in told.out
    assert "16 CFR 500.21(b)" in told.out
    assert "QR code: level Q, which mends about 25 % of it" in told.out


def test_a_label_that_does_not_fit_is_explained_all_the_same(run: Run, demo_shop: Path) -> None:
    """The rules of its words stand; why it cannot be printed so is said with a cure."""
    told = run(
        "--shop",
        demo_shop,
        "--today",
        "2026-11-20",
        "label",
        "DRF-26241-AZ",
        "--explain",
        "--face",
        "band",
        "--sheet",
        "a4-2x4",
    )
    assert told.code == 0
    assert "16 CFR 500.5" in told.out
    assert "It cannot be printed so: face 'band'" in told.out
    assert "a4-1x4" in told.out
