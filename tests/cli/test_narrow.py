"""The lists on a narrow screen keep whole words."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest


@pytest.mark.parametrize("width", [80, 60])
@pytest.mark.parametrize(
    ("command", "words"),
    [
        ("today", ["Driftwood", "EEL-26290-AT", "release", "labels"]),
        ("curing", ["Driftwood", "EEL-26290-AT", "Next", "release"]),
        ("ready", ["Driftwood", "DRF-26241-AZ", "2027-08-18"]),
        ("order list", ["HS-42", "2026-12-05", "Wants", "Owed"]),
        ("stock", ["DRF-26241-AZ", "retained", "Free", "beef-tallow"]),
        ("promise", ["DRF", "2026-12-17", "Supply", "Short"]),
        ("lots", ["BEE-26275-AQ", "2027-10-02", "Ingredient"]),
        ("entries", ["2026-11-19", "Undone"]),
    ],
)
def test_words_are_not_broken(
    demo_shop: Path,
    run: Any,
    monkeypatch: pytest.MonkeyPatch,
    width: int,
    command: str,
    words: list[str],
) -> None:
    """Heads, lots, names and dates stand whole, and no line is wider than the screen."""
    monkeypatch.setenv("COLUMNS", str(width))
    out = run("--shop", demo_shop, "--today", "2026-11-20", *command.split()).out
    assert [word for word in words if word not in out] == []
    assert max(map(len, out.splitlines())) <= width


@pytest.mark.parametrize("width", [80, 60])
def test_a_batch_that_cures_has_one_line(
    demo_shop: Path, run: Any, monkeypatch: pytest.MonkeyPatch, width: int
) -> None:
    """As many lines as batches, each with its lot and its next step."""
    monkeypatch.setenv("COLUMNS", str(width))
    out = run("--shop", demo_shop, "--today", "2026-11-20", "curing").out
    rows = out.split("looks odd")[0].splitlines()
    begun = next(n for n, line in enumerate(rows) if "\u2500\u2500" in line)
    lines = [line for line in rows[begun + 1 :] if line.strip(" !")]
    lots = [line for line in lines if re.match(r" ?[A-Z]{3}-[0-9]{5}-", line)]
    assert len(lots) > 5
    assert lines == lots


@pytest.mark.parametrize("width", [20, 40])
def test_no_figure_vanishes_where_a_table_does_not_fit(
    demo_shop: Path, run: Any, monkeypatch: pytest.MonkeyPatch, width: int
) -> None:
    """Each cell stands on a line of its own, led by its heading."""
    monkeypatch.setenv("COLUMNS", str(width))
    told = run("--shop", demo_shop, "--today", "2026-11-20", "stock").out.splitlines()
    lines = [line.strip() for line in told]
    at = lines.index("Lot: DRF-26241-AZ")
    assert lines[at + 1 : at + 4] == ["Recipe: DRF", "Place: rack", "Bars: 11"]
    assert max(map(len, told)) <= width
