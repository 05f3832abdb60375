"""A lye-heavy recipe is marked wherever recipes are listed, and a recipe can be retired."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from soapstock.desk.desk import Desk
from soapstock.enter.pour import pour
from soapstock.enter.recipe import add_recipe, retire_recipe
from soapstock.enter.undo import undo
from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.recipes.target import make_target
from soapstock.views.plan import Wish, plan
from soapstock.views.recipes import list_recipes

HEAVY = """
code = "BAD"
name = "Bad Master"

[[fats]]
fat = "olive"
mass = "1000 g"

[as_written]
naoh = "170 g"
water = "300 g"
"""


def add(desk: Desk, tmp_path: Path, text: str = HEAVY) -> None:
    """Add a recipe of that text."""
    path = tmp_path / "bad.toml"
    path.write_text(text)
    add_recipe(desk, path)


def row(desk: Desk, code: str) -> object:
    """A recipe's row in the list."""
    return next(r for r in list_recipes(desk) if r.code == code)


def test_a_lye_heavy_recipe_is_marked_in_the_list(desk: Desk, tmp_path: Path) -> None:
    """It used to stand there like the others."""
    add(desk, tmp_path)
    assert row(desk, "BAD").lye == "LYE-HEAVY"
    assert row(desk, "EBB").lye == "safe"


def test_a_recipe_whose_range_reaches_zero_is_marked_too(desk: Desk, tmp_path: Path) -> None:
    """1000 g olive with 133 g NaOH: a little over zero at the middle, under it at the low end."""
    add(desk, tmp_path, HEAVY.replace("170 g", "133 g"))
    assert row(desk, "BAD").lye == "may be lye-heavy"


def test_a_retired_recipe_is_neither_poured_nor_planned(desk: Desk) -> None:
    """Its reason is told; what was poured by it stays; taken up again, it pours."""
    target = make_target(have="beef-tallow=300g", fat=None, bars=None, volume=None)
    done = retire_recipe(desk, "ebb", "too soft")
    assert "EBB (Ebb) is retired" in done.said
    assert row(desk, "EBB").retired == "too soft"
    with pytest.raises(RuleBroken, match="EBB is retired: too soft"):
        pour(desk, "EBB", [], target=target, as_planned=True)
    with desk.ledger.read() as reader:
        assert any(b.recipe_code == "EBB" for b in reader.batches())
    retire_recipe(desk, "EBB", "firmer now", back=True)
    assert not row(desk, "EBB").retired
    assert pour(desk, "EBB", [], target=target, as_planned=True).recipe.code == "EBB"


def test_the_plan_leaves_out_what_is_retired_or_lye_heavy(desk: Desk, tmp_path: Path) -> None:
    """And says so."""
    add(desk, tmp_path)
    retire_recipe(desk, "EBB", "too soft")
    seen = plan(desk, Wish(launch=date(2027, 2, 20), first=desk.today, expected=900))
    assert {"EBB", "BAD"}.isdisjoint(s.code for s in seen.standings)
    assert "Ebb is left out: it is retired (too soft)." in seen.notes
    assert "Bad Master is left out: as it is written its lye would burn." in seen.notes


def test_undoing_the_retirement_takes_it_back(desk: Desk) -> None:
    """The newest word that stands counts."""
    done = retire_recipe(desk, "EBB", "too soft")
    undo(desk, done.entry_id, "wrong recipe")
    assert not row(desk, "EBB").retired


def test_retiring_twice_without_a_reason_or_a_stranger_is_refused(desk: Desk) -> None:
    """Each in one line."""
    with pytest.raises(BadInput, match="reason"):
        retire_recipe(desk, "EBB", " ")
    with pytest.raises(NotFound, match="no recipe ZZZ"):
        retire_recipe(desk, "ZZZ", "why")
    retire_recipe(desk, "EBB", "too soft")
    with pytest.raises(RuleBroken, match="retired already"):
        retire_recipe(desk, "EBB", "again")
    with pytest.raises(RuleBroken, match="not retired"):
        retire_recipe(desk, "DRF", "why", back=True)
