"""What stands on the sheet at the bench."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pypdfium2

from soapstock.desk.desk import Desk
from soapstock.views.pot import usable_lots
from tests.conftest import CHECKOUT


def test_the_cautions_of_the_recipes_own_additions_stand_on_the_sheet(
    demo_shop: Path, run: Callable[..., Any], tmp_path: Path
) -> None:
    """Milk in lye gives off carbon monoxide and heat: the sheet says so where it is read."""
    text = (CHECKOUT / "sample_data" / "recipes" / "ebb.toml").read_text(encoding="utf-8")
    goat = '\n[[additions]]\ningredient = "goat-milk"\npercent_of_fats = 10\nstage = "trace"\n'
    recipe = tmp_path / "goat.toml"
    recipe.write_text(text.replace('"EBB"', '"GOA"') + goat, encoding="utf-8")
    words = ["--shop", demo_shop, "--today", "2026-11-20"]
    told = run(*words, "recipe", "add", recipe)
    assert told.code == 0, told.err
    sheet = tmp_path / "sheet.pdf"
    told = run(*words, "recipe", "scale", "GOA", "--fat", "1kg", "--sheet", sheet)
    assert told.code == 0, told.err
    printed = " ".join(pypdfium2.PdfDocument(sheet)[0].get_textpage().get_text_range().split())
    assert "goat milk: its sugars and lye can give off carbon monoxide" in printed


def test_the_sheet_says_what_is_wanted_and_what_it_would_take(
    demo_shop: Path, run: Callable[..., Any], tmp_path: Path
) -> None:
    """Temperatures and method of the recipe, the shop's list, lots by first expired, what lacks."""
    words = ["--shop", demo_shop, "--today", "2026-11-20"]
    sheet = tmp_path / "sheet.pdf"
    told = run(*words, "recipe", "scale", "DRF", "--fat", "20kg", "--sheet", sheet)
    assert told.code == 0, told.err
    pdf = pypdfium2.PdfDocument(sheet)
    assert len(pdf) == 1
    printed = " ".join(pdf[0].get_textpage().get_text_range().split())
    for wanted in (
        "Lye at mixing, °C (want 40)",
        "Fats at mixing, °C (want 43)",
        "1. Melt tallow",
        "4. Charcoal into one third",
        "Get ready",
        "stick blender",
        "COC-26233-AI",
    ):
        assert wanted in printed, wanted
    assert " short" in printed
    assert printed.count("LYE BURNS") == 1


def test_lots_on_hold_or_expired_are_not_taken(desk: Desk) -> None:
    """The first to expire comes first, as the pour itself takes them."""
    with desk.ledger.read() as reader:
        lots = reader.ingredient_lots()
    tallow = usable_lots(desk, "beef-tallow", lots)
    assert [lot.best_before for lot in tallow] == sorted(lot.best_before for lot in tallow)
    held = [replace(lot, hold_reason="rancid") for lot in lots]
    old = [replace(lot, best_before=date(2026, 11, 19)) for lot in lots]
    assert usable_lots(desk, "beef-tallow", held) == usable_lots(desk, "beef-tallow", old) == []


def test_a_pupils_sheet_has_the_recipe_and_its_cautions_but_nothing_of_the_shop(
    demo_shop: Path, desk: Desk, run: Callable[..., Any], tmp_path: Path
) -> None:
    """No lot, supplier, customer or note of the maker's is in it, nor in the file's title."""
    words = ["--shop", demo_shop, "--today", "2026-11-20"]
    sheet = tmp_path / "pupil.pdf"
    told = run(*words, "recipe", "scale", "DRF", "--fat", "1kg", "--pupil", sheet)
    assert told.code == 0, told.err
    pdf = pypdfium2.PdfDocument(sheet)
    printed = " ".join(page.get_textpage().get_text_range() for page in pdf)
    printed = " ".join((printed + " " + " ".join(pdf.get_metadata_dict().values())).split())
    for wanted in ("Driftwood", "recipe sheet", "Beef tallow", "LYE BURNS", "1. Melt tallow"):
        assert wanted in printed, wanted
    with desk.ledger.read() as reader:
        secret = {lot.lot_code.shown for lot in reader.ingredient_lots()}
        secret |= {lot.supplier for lot in reader.ingredient_lots()}
        secret |= {order.customer for order in reader.orders()}
    assert len(secret) > 10
    assert not [one for one in secret if one and one in printed]
    assert not re.search(r"[A-Z]{3}-\d{5}-[A-Z0-9]{2}", printed)
