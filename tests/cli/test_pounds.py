"""A shop that thinks in pounds reads pounds and °F beside grams and °C, everywhere a mass is said.

Figures: 1 lb = 453.59237 g, 16 oz a pound (NIST Handbook 44, 2024, appendix C); °F = 1.8 °C + 32.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

TODAY = ("--today", "2026-11-20", "--by", "tester")
Run = Callable[..., Any]


@pytest.fixture
def pounds_shop(demo_shop: Path) -> Path:
    """The demo shop, set to pounds."""
    settings = demo_shop / "shop.toml"
    text = settings.read_text(encoding="utf-8").replace('units = "g"', 'units = "lb"')
    settings.write_text(text, encoding="utf-8")
    return demo_shop


def test_what_was_said_in_pounds_comes_back_in_pounds(pounds_shop: Path, run: Run) -> None:
    """60 lb is not only 27215.542 g; stock and lots have a column."""
    here = ("--shop", pounds_shop, *TODAY)
    said = run(*here, "receive", "beef-tallow", "--mass", "60 lb", "--supplier", "A Farm")
    assert "27215.542 g (60 lb)" in said.out
    for listing in ("stock", "lots"):
        told = run(*here, listing)
        assert "Pounds" in told.out
        assert "60 lb" in told.out


def test_json_and_the_ledger_stay_in_grams(pounds_shop: Path, run: Run) -> None:
    """Figures for programs have one unit."""
    here = ("--shop", pounds_shop, *TODAY)
    run(*here, "receive", "beef-tallow", "--mass", "60 lb", "--supplier", "A Farm")
    assert " lb" not in run(*here, "stock", "--json").out
    assert " lb" not in run(*here, "entries", "--json").out


def test_the_batch_sheet_has_both_and_asks_for_fahrenheit(
    pounds_shop: Path, tmp_path: Path, run: Run
) -> None:
    """The lye's ounces stand beside its grams, and the boxes are for the shop's thermometer."""
    sheet = tmp_path / "sheet.pdf"
    told = run(
        *("--shop", pounds_shop, *TODAY, "recipe", "scale", "DRF"),
        *("--have", "beef-tallow=4lb", "--sheet", sheet),
    )
    assert told.code == 0, told.err
    assert "about 220 °F from 68 °F" in told.out
    text = pypdfium2.PdfDocument(sheet)[0].get_textpage().get_text_range()
    assert "436 g (15.38 oz)" in text
    assert "Lye at mixing, °F (want 104)" in text
    assert "°C" not in text


def test_another_shop_in_the_same_process_has_grams_alone(
    pounds_shop: Path, new_shop: Path, run: Run
) -> None:
    """The setting is the shop's, not the program's."""
    assert "Pounds" in run("--shop", pounds_shop, *TODAY, "stock").out
    assert "Pounds" not in run("--shop", new_shop, *TODAY, "stock").out
    told = run("lye", "--naoh", "150g", "--water", "300g")
    assert "°C" in told.out
    assert " lb" not in told.out


def test_a_declared_weight_has_no_other_ounces_than_the_label(
    pounds_shop: Path, tmp_path: Path, run: Run
) -> None:
    """A label's ounces are rounded down by law (16 CFR 500.19(b)): no paper says more beside it."""
    card = tmp_path / "card.pdf"
    run("--shop", pounds_shop, *TODAY, "card", "DRF-26241-AZ", "--out", card)
    text = pypdfium2.PdfDocument(card)[0].get_textpage().get_text_range()
    assert "113 g" in text
    assert "3.99" not in text
