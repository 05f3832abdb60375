"""`plan` and `recipe fill` as a person reads them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

DAY = "2026-11-20"
ASKED = ("--launch", "2027-02-20", "--expect", "900")


def test_the_plan_reads_at_eighty_columns(demo_shop: Path, run: Any) -> None:
    """The next pour first, then the calendar; no line is wider than a terminal."""
    told = run("--shop", demo_shop, "--today", DAY, "plan", *ASKED, "--why")
    assert told.code == 0
    assert told.out.startswith("Pour ")
    assert "no plan is better within these limits" in told.out
    assert "more beef-tallow" in told.out
    assert "goggles" in told.out  # lye is to be bought
    assert max(map(len, told.out.splitlines())) <= 80


def test_the_day_ends_with_what_to_pour_next(demo_shop: Path, run: Any) -> None:
    """In the last line of `today`, and nowhere in its records."""
    told = run("--shop", demo_shop, "--today", DAY, "today")
    assert told.out.splitlines()[-1].startswith("Pour nothing: ")
    assert "Pour" not in run("--shop", demo_shop, "--today", DAY, "today", "--csv").out


def test_the_record_is_json_and_nothing_else(demo_shop: Path, run: Any) -> None:
    """The solver writes nothing beside it."""
    told = run("--shop", demo_shop, "--today", DAY, "plan", *ASKED, "--json")
    found = json.loads(told.out)
    assert found["gap"] == 0
    assert sum(p["bars"] for p in found["pours"]) > 0


def test_a_wrong_wish_is_one_line(demo_shop: Path, run: Any) -> None:
    """What is wrong, and how it is written."""
    for words in (["--favour", "DRF"], ["--selling", "-1"], ["--expect", "0"], ["--launch", "x"]):
        told = run("--shop", demo_shop, "--today", DAY, "plan", *words)
        assert told.code == 2
        assert "Traceback" not in told.err


def test_fill_is_said_beside_the_scaled_recipe(demo_shop: Path, run: Any) -> None:
    """The same sentence, and as JSON."""
    told = run("--shop", demo_shop, "--today", DAY, "recipe", "fill", "DRF")
    assert "fill each cup with" in " ".join(told.out.split())
    scaled = run("--shop", demo_shop, "--today", DAY, "recipe", "scale", "DRF", "--fat", "2kg")
    assert "fill each cup with" in " ".join(scaled.out.split())
    found = json.loads(run("--shop", demo_shop, "recipe", "fill", "DRF", "--json").out)
    assert found["fill_g"] > found["declared_g"]
