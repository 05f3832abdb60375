"""Notes under a scaled batch."""

from __future__ import annotations

from decimal import Decimal

from soapstock.recipes.recipe import parse_recipe
from soapstock.recipes.scaling import Target, scale


def notes_of(text: str) -> str:
    """All notes of a two-kilogram batch."""
    batch = scale(parse_recipe(text, "r"), Target(total_fat_g=Decimal(2000)))
    return " ".join(batch.notes)


def test_ready_lye_says_what_to_weigh(rule_text: str) -> None:
    """50 % stock: twice the NaOH, and the rest of the water."""
    assert "weigh 536 g of the solution" in notes_of(
        rule_text.replace("[lye]", "[lye]\nsolution_percent = 50")
    )


def test_milk_brings_its_caution(rule_text: str) -> None:
    """Sugar and lye."""
    text = rule_text.replace('"kaolin"', '"goat-milk"')
    assert "carbon monoxide" in notes_of(text)


def test_a_notebook_page_says_what_the_lye_should_have_been(notebook_text: str) -> None:
    """For the usual superfat when it states none."""
    assert "for the usual 5 % superfat these fats ask" in notes_of(notebook_text)
