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
    """50 % NaOH: twice the NaOH, and the rest of the water (2 : 1) once more that of the NaOH.

    By hand: (1200 x 196 + 800 x 190) / 1000 x 0.712888 x 0.95 = 262.2 g NaOH.
    """
    found = notes_of(ready_text(rule_text, "50 % NaOH"))
    assert "ready lye of 50 % NaOH by mass (49 to 51 %): weigh 524 g of it" in found
    assert "262 g more water" in found
    assert "assay not stated" not in found


def ready_text(text: str, strength: str) -> str:
    """The recipe with ready lye in place of dry."""
    return text.replace("naoh_assay_percent = 98", f'ready_lye = "{strength}"')


def test_milk_brings_its_caution(rule_text: str) -> None:
    """Sugar and lye."""
    text = rule_text.replace('"kaolin"', '"goat-milk"')
    assert "carbon monoxide" in notes_of(text)


def test_a_notebook_page_says_what_the_lye_should_have_been(notebook_text: str) -> None:
    """For the usual superfat when it states none."""
    assert "for the usual 5 % superfat these fats ask" in notes_of(notebook_text)
