"""The recipe commands that change what goes into the pot."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest


def test_practice_shows_the_superfat_it_really_gives(run: Any, demo_shop: Path) -> None:
    """Lye scaled by the tallow, the coconut poured short."""
    told = run(
        "--shop",
        demo_shop,
        "recipe",
        "practice",
        "DRF",
        "--by",
        "tallow=1320g",
        "--poured",
        "coconut=350g",
        "--json",
    )
    record = json.loads(told.out)
    assert record["verdict"] == "refuse"
    assert record["naoh_should_be_g"] < record["naoh_g"]
    assert record["cautions"]


def test_swap_keeps_the_lye(run: Any, demo_shop: Path) -> None:
    """Sunflower for olive."""
    words = ("--fat", "2kg", "--out", "olive", "--in", "sunflower")
    told = run("--shop", demo_shop, "recipe", "swap", "DRF", *words, "--json")
    record = json.loads(told.out)
    assert record["superfat_percent"]["nominal"] == pytest.approx(5.0, abs=0.3)
    assert record["order_after"][-1] == "sunflower"


def test_mould_says_how_many_bars(run: Any, demo_shop: Path) -> None:
    """300 x 90 x 60 mm."""
    words = ("--inside", "30cm x 9cm x 6cm", "--count", "2", "--json")
    record = json.loads(run("--shop", demo_shop, "recipe", "mould", "DRF", *words).out)
    assert record["volume_ml"] == pytest.approx(3240)
    assert record["bars"] == 24


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["recipe", "mould", "DRF", "--inside", "30cm"], 2, "1 sizes"),
        (["recipe", "swap", "DRF", "--fat", "2kg", "--out", "olive", "--in", "oliv"], 3, "no fat"),
        (["recipe", "swap", "DRF", "--fat", "2kg", "--out", "shea", "--in", "olive"], 2, "shea"),
        (["recipe", "practice", "DRF", "--by", "tallow"], 2, "not understood"),
        (["recipe", "practice", "XYZ", "--by", "tallow=1kg"], 3, "no recipe XYZ"),
    ],
)
def test_bad_input_is_one_clear_line(
    run: Any, demo_shop: Path, words: list[str], code: int, says: str
) -> None:
    """The exit code says which kind, the line what and how to mend it."""
    told = run("--shop", demo_shop, *words)
    assert told.code == code
    assert says in told.err
    assert "Traceback" not in told.err


def test_composition_shows_the_soaps_and_the_fat_left(run: Any, demo_shop: Path) -> None:
    """After an eighth was lost by drying."""
    told = run("--shop", demo_shop, "recipe", "composition", "DRF", "--fat", "2kg", "--lost", "12")
    assert told.code == 0, told.err
    assert "Sodium Tallowate" in told.out
    assert "Beef tallow, left over" in told.out
    assert "total fatty matter" in told.out
