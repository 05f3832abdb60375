"""Add a recipe, or a new version of it, to the ledger."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from soapstock.desk.desk import Desk
from soapstock.desk.finding import find_recipe, parsed_recipe
from soapstock.enter.entered import Entered
from soapstock.errors import BadInput, Mend
from soapstock.exchange.text_file import MEGABYTE, read_text_file
from soapstock.recipes.scaling import scale
from soapstock.recipes.target import as_written

if TYPE_CHECKING:
    from soapstock.recipes.scaling import ScaledBatch


@dataclass(frozen=True, slots=True, kw_only=True)
class AddedRecipe:
    """What came of adding a recipe file: its code, version, whether it was new, why retired."""

    code: str
    name: str
    version: int
    new: bool
    scaled: ScaledBatch | None
    retired: str = ""


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
        retired=stored.retired,
    )


def retire_recipe(
    desk: Desk, code: str, why: str, *, back: bool = False, on: date | None = None
) -> Entered:
    """Take a recipe out of use, so that it is neither poured nor planned; `back` takes it up again.

    What was poured by it stays as it is.

    Raises:
        BadInput: no reason is given.
        NotFound: no such recipe.
        RuleBroken: it is so already.
    """
    if not why.strip():
        example = "firmer now" if back else "too soft"
        raise BadInput("this needs a reason", mend=Mend("give_reason", example=example))
    stamp = desk.stamp(on)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        recipe, _ = find_recipe(reader, code)
        entry = writer.retire(stamp, recipe.code, why.strip(), retired=not back)
    named = f"{recipe.code} ({recipe.name})"
    said = f"{named} is in use again." if back else f"{named} is retired: {why.strip()}."
    return Entered(entry_id=entry, lot_code=None, said=said)
