"""What stands on the sheet at the bench."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdfium2

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
