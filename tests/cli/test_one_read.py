"""A command that only asks reads the ledger once: all that it says is of one moment."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from soapstock.ledger.store import Ledger

OPENING = 1  # a ledger that is opened looks at its head
ASKED = (
    "today",
    "curing",
    "lots",
    "order list",
    "order pack HS-41 --pick {out}/pick.pdf --slip {out}/slip.pdf",
    "recipe scale DRF --have beef-tallow=300g --sheet {out}/sheet.pdf",
    "card DRF-26241-AZ --out {out}/card.pdf",
    "declare WRK-26276-AE",
    "label DRF-26241-AZ --text",
    "cost DRF-26241-AZ",
    "take-in {out}/notes.csv",
)


@pytest.mark.parametrize("line", ASKED, ids=lambda line: line.split(" -")[0])
def test_a_question_reads_once(
    line: str,
    demo_once: Path,
    tmp_path: Path,
    run: Callable[..., Any],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """However many views answer it."""
    (tmp_path / "notes.csv").write_text(
        "date,soap,tallow,lye\n2025-10-01,Ebb,700g,96g\n", encoding="utf-8"
    )
    begun: Counter[str] = Counter()
    begin = Ledger.read

    def counted(ledger: Ledger) -> object:
        begun["read"] += 1
        return begin(ledger)

    monkeypatch.setattr(Ledger, "read", counted)
    words = line.format(out=tmp_path).split()
    told = run("--shop", demo_once, "--today", "2026-11-20", *words)
    assert told.code == 0, told.err
    assert begun["read"] == 1 + OPENING
