"""Scaling a stored recipe, and what is kept stable about it."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from soapstock.desk.desk import Desk
from soapstock.enter import recipe as enter_recipe
from soapstock.enter.decide import decide
from soapstock.errors import BadInput, RuleBroken
from soapstock.exchange.tabular import plain
from soapstock.papers import batch_sheet
from soapstock.recipes import scaled as scaled_recipes
from soapstock.recipes import target as target_recipes
from soapstock.views import recipes
from soapstock.views.pot import store_lacks
from tests.conftest import CHECKOUT

KEYS = {
    "scale_factor",
    "fats",
    "naoh_g",
    "koh_g",
    "water_g",
    "lye_concentration_percent",
    "superfat_percent",
    "verdict",
    "lye_peak_c",
    "batch_mass_g",
}


def target(**given: object) -> object:
    """A target from one option, the rest left out."""
    options: dict[str, object] = {"have": None, "fat": None, "bars": None, "volume": None}
    return target_recipes.make_target(**(options | given))  # type: ignore[arg-type]


def test_the_scale_record_keeps_its_keys(desk: Desk) -> None:
    """The documented keys of `recipe scale --json`, and the shape of two of them."""
    _, _, scaled = recipes.scale_recipe(desk, "DRF", target(have="tallow=1320g"))  # type: ignore[arg-type]
    record = plain(scaled_recipes.scaled_row(scaled))
    assert record.keys() >= KEYS
    assert record["superfat_percent"].keys() == {"low", "nominal", "high"}
    assert record["fats"][0].keys() >= {"ingredient", "mass_g"}
    assert record["verdict"] in {"safe", "check", "refuse"}
    assert record["cautions"]


@pytest.mark.parametrize("given", [{"fat": "2200g"}, {"have": "tallow=1320g"}])
def test_targets_that_mean_the_same_scale_the_same(desk: Desk, given: dict[str, str]) -> None:
    """60 % tallow: 1320 g of it is 2200 g of fats."""
    _, _, scaled = recipes.scale_recipe(desk, "DRF", target(**given))  # type: ignore[arg-type]
    assert scaled.fats[0].mass_g == Decimal(1320)


def test_certified_lots_narrow_the_superfat(desk: Desk) -> None:
    """The demo's coconut is certified, so its interval is narrower than the table's."""
    with desk.ledger.read() as reader:
        from soapstock.desk.finding import find_recipe

        recipe, _ = find_recipe(reader, "EBB")
    known = recipes.lot_saponification(desk, recipe)
    assert (known["coconut"].low, known["coconut"].high) == (257, 259)
    assert "beef-tallow" not in known


def test_the_same_file_twice_is_one_version(desk: Desk) -> None:
    """Adding an unchanged recipe writes nothing."""
    path = CHECKOUT / "sample_data" / "recipes" / "ebb.toml"
    assert not enter_recipe.add_recipe(desk, path).new


def test_a_changed_file_is_the_next_version(desk: Desk, tmp_path: Path) -> None:
    """A change of one figure makes version 2."""
    text = (CHECKOUT / "sample_data" / "recipes" / "ebb.toml").read_text(encoding="utf-8")
    path = tmp_path / "ebb.toml"
    path.write_text(text.replace("cure_days = 28", "cure_days = 30"), encoding="utf-8")
    added = enter_recipe.add_recipe(desk, path)
    assert (added.new, added.version) == (True, 2)


def test_a_sheet_is_printed_for_the_lot_to_be(desk: Desk, tmp_path: Path) -> None:
    """The batch sheet carries the code that the pour then gets."""
    from soapstock.enter.pour import pour

    aim = target(have="tallow=300g")
    recipe, version, scaled = recipes.scale_recipe(desk, "EBB", aim)  # type: ignore[arg-type]
    path = tmp_path / "sheet.pdf"
    lot = batch_sheet.print_batch_sheet(desk, recipe, version, scaled, path, date(2026, 11, 20))
    assert path.read_bytes().startswith(b"%PDF")
    assert pour(desk, "EBB", [], target=aim, as_planned=True).lot_code == lot  # type: ignore[arg-type]


def test_a_refused_recipe_gets_no_sheet(desk: Desk, tmp_path: Path) -> None:
    """A sheet that would burn skin is not printed."""
    text = (CHECKOUT / "sample_data" / "recipes" / "mudlark.toml").read_text(encoding="utf-8")
    path = tmp_path / "mudlark.toml"
    path.write_text(text.replace('naoh = "213 g"', 'naoh = "256 g"'), encoding="utf-8")
    enter_recipe.add_recipe(desk, path)
    recipe, version, scaled = recipes.scale_recipe(desk, "MUD", target(fat="1kg"))  # type: ignore[arg-type]
    assert scaled.verdict.word == "refuse"
    with pytest.raises(RuleBroken, match="no batch sheet"):
        batch_sheet.print_batch_sheet(
            desk, recipe, version, scaled, tmp_path / "s.pdf", date(2026, 11, 20)
        )
    assert not (tmp_path / "s.pdf").exists()


def test_no_target_is_refused() -> None:
    """Something must be scaled to."""
    with pytest.raises(BadInput, match="nothing"):
        target()


def test_what_the_store_lacks_is_said_when_scaling(desk: Desk) -> None:
    """Before anything is melted; what may not be taken does not count."""
    _, _, enough = recipes.scale_recipe(desk, "EBB", target(fat="2kg"))  # type: ignore[arg-type]
    assert store_lacks(desk, enough) == []
    _, _, much = recipes.scale_recipe(desk, "EBB", target(have="coconut=3000g"))  # type: ignore[arg-type]
    assert [line for line in store_lacks(desk, much) if line.endswith(" of coconut")] == [
        "311 g of coconut"  # 2689 g are there
    ]
    with desk.ledger.read() as reader:
        lots = [lot.lot_code for lot in reader.ingredient_lots("coconut") if lot.left_mg]
    for lot in lots:
        decide(desk, lot, "hold", "rancid")
    assert any(line.endswith(" of coconut") for line in store_lacks(desk, enough))
