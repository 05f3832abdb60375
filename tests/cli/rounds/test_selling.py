"""The evening of a market, by the command line."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest


@pytest.fixture
def market(demo_shop: Path, run: Any) -> Callable[..., Any]:
    """`market Quay` in the demo shop."""

    def command(*words: object, typed: str = "") -> Any:
        return run(
            "--shop", demo_shop, "--today", "2026-11-20", "market", "Quay", *words, typed=typed
        )

    return command


def test_the_evening_asks_kind_by_kind(market: Any) -> None:
    """Five of 12 Driftwood were sold and no Eelgrass; the rest is back, the box is told."""
    assert market("DRF=12", "EEL=6").code == 0
    told = market("--price", "7.50", typed="5\n\n")
    assert told.code == 0, told.err
    assert "In the box: 37.50 USD" in told.out
    assert "Back on shelf: 13 bars" in told.out
    assert "No bars" in market().out


@pytest.mark.parametrize("typed", ["13\n0\n", "x\n0\n", "5\n"])
def test_a_wrong_line_of_a_pipe_enters_nothing(market: Any, typed: str) -> None:
    """More than were there, no count, too few answers: all still stand in the crate."""
    market("DRF=12", "EEL=6")
    told = market(typed=typed)
    assert told.code == 2
    assert "Back on shelf: 18 bars" in market(typed="0\n0\n").out
