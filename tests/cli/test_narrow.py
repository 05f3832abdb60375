"""The lists on a narrow screen keep whole words."""

from __future__ import annotations

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
    out = run("--shop", demo_shop, "--today", "2026-11-20", command).out
    assert [word for word in words if word not in out] == []
    assert max(map(len, out.splitlines())) <= width
