"""Add a recipe, or a new version of it, to the ledger."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from soapstock.desk.desk import Desk
from soapstock.desk.finding import parsed_recipe
from soapstock.exchange.text_file import MEGABYTE, read_text_file
from soapstock.recipes.scaling import scale
from soapstock.recipes.target import as_written

if TYPE_CHECKING:
    from soapstock.recipes.scaling import ScaledBatch


@dataclass(frozen=True, slots=True, kw_only=True)
class AddedRecipe:
    """What came of adding a recipe file: its code, version, and whether it was new."""

    code: str
    name: str
    version: int
    new: bool
    scaled: ScaledBatch | None


def add_recipe(desk: Desk, path: Path) -> AddedRecipe:
    """Add a recipe file, or its next version if the text changed; judge stated lye as written.

    Raises:
        BadInput, NotFound: the file is missing or wrong; says file and field.
    """
    text = read_text_file(path, "recipe", most_bytes=MEGABYTE)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        recipe = parsed_recipe(text, str(path))
        scaled = scale(
            recipe,
            as_written(recipe),
            scale_step_g=desk.shop.scale_step_g,
            market=desk.shop.market,
        )
        before = {(r.code, r.version) for r in reader.recipes()}
        stored = writer.add_recipe(desk.stamp(), code=recipe.code, text=text)
    return AddedRecipe(
        code=stored.code,
        name=recipe.name,
        version=stored.version,
        new=(stored.code, stored.version) not in before,
        scaled=scaled,
    )
