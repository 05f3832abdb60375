"""A delivery at the prompt."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest


@pytest.fixture
def receive(demo_shop: Path, run: Any) -> Any:
    """`receive` in the demo shop."""

    def command(*words: object, typed: str = "") -> Any:
        return run("--shop", demo_shop, "--today", "2026-11-20", "receive", *words, typed=typed)

    return command


def test_the_supplier_is_typed_once(receive: Any) -> None:
    """A bare figure is grams, as the prompt says."""
    told = receive(typed="Chandler (invented)\nolive, 1814, 77A, 24.50\nnaoh, 2kg\n\n")
    assert told.code == 0, told.err
    assert "Received 1814 g of olive" in told.out
    assert told.out.count("Received") == 2


def test_a_wrong_line_of_a_pipe_ends_it(receive: Any) -> None:
    """What was entered before it stands, and is said."""
    told = receive("--supplier", "Chandler (invented)", typed="olive, 5kg\nolive\n")
    assert told.code == 2
    assert told.out.count("Received") == 1
    assert "stands" in told.err


def test_what_is_of_one_lot_is_refused_for_a_delivery(receive: Any, tmp_path: Path) -> None:
    """A mass without its ingredient is no delivery."""
    assert receive("--mass", "5kg").code == 2
    listed = tmp_path / "slip.csv"
    listed.write_text("ingredient,mass,lot,cost,best_before\nolive,5kg\n")
    assert receive("olive", "--list", listed).code == 2
    assert receive("--list", listed, "--supplier", "Chandler (invented)").code == 0


def test_one_lot_without_its_mass_is_refused(receive: Any) -> None:
    """As ever."""
    assert receive("olive", "--supplier", "Chandler (invented)").code == 2
