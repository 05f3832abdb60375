"""Rendering on the farm: raw fat lots go into the kettle, a lot of rendered fat comes out.

Raw fat is received like any ingredient, under the rendered fat's key with `raw-` before it. The
rendered lot names the raw lots it came from, so that a lot
can be followed to the animal or the butcher.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from soapstock.desk.desk import Desk
from soapstock.desk.finding import read_lot
from soapstock.desk.ingredients import RAW, known_ingredient
from soapstock.enter.entered import Entered
from soapstock.enter.receive import receive
from soapstock.errors import BadInput, Mend, RuleBroken
from soapstock.ledger.facts import Use
from soapstock.units import mass_words, mg_from_g, parse_mass_g

if TYPE_CHECKING:
    from soapstock.ledger.facts import IngredientLot


HOW = "write LOT=MASS, such as RAW-26244-A7=5.6kg"
MOST_TOLD = 180  # characters of animal references kept with the rendered lot


def render(
    desk: Desk,
    fat: str,
    mass: str,
    sources: Sequence[str],
    *,
    best_before: date | None = None,
    acid_value: float | None = None,
    moisture_percent: float | None = None,
    on: date | None = None,
    note: str = "",
) -> Entered:
    """Record a rendering: raw fat leaves its lots, and a new lot of rendered fat comes in.

    Args:
        sources: `LOT=MASS` for each lot that went into the kettle: raw fat, or rendered fat of
            this kind that is cleaned once more.

    Raises:
        BadInput: no source, one not understood, or more came out than went in.
        RuleBroken: a lot of something else, or one that holds too little.
    """
    with desk.writing() as (here, _):
        key, uses, lots = _into_kettle(here, fat, sources)
        told = "; ".join(dict.fromkeys(lot.animal for lot in lots if lot.animal))
        done = receive(
            here,
            key,
            mass,
            supplier="own rendering",
            animal=told if len(told) <= MOST_TOLD else "several: follow its lots",
            raw_fat=f"{sum(use.mass_g for use in uses)} g",
            best_before=best_before,
            acid_value=acid_value,
            moisture_percent=moisture_percent,
            on=on,
            note=note,
            made_from=uses,
        )
    from_lots = ", ".join(f"{mass_words(use.mass_g)} of {use.lot_shown}" for use in uses)
    return replace(
        done,
        said=done.said.replace("Received", "Rendered"),
        notes=(f"From {from_lots}.", *done.notes),
    )


def _into_kettle(
    desk: Desk, fat: str, sources: Sequence[str]
) -> tuple[str, tuple[Use, ...], list[IngredientLot]]:
    """What is rendered, and the lots it comes from. Raises as `render` says."""
    key = known_ingredient(desk, fat)
    if key.startswith(RAW):
        raise BadInput(f"{key} is what goes in", hint=f"name what comes out: {key[len(RAW) :]}")
    if not sources:
        raise BadInput(
            f"what was this {key} rendered from?",
            hint="receive the raw fat first",
            mend=Mend("name_raw_lots", ingredient=f"{RAW}{key}"),
        )
    return (key, *_sources(desk, key, sources))


def _sources(
    desk: Desk, key: str, texts: Sequence[str]
) -> tuple[tuple[Use, ...], list[IngredientLot]]:
    uses: list[Use] = []
    lots: list[IngredientLot] = []
    for text in texts:
        code, equals, mass = text.partition("=")
        if not equals or not code.strip():
            raise BadInput(f"'{text[:80]}' is not understood", hint=HOW)
        mass_g = parse_mass_g(mass, "mass into the kettle")
        if mass_g <= 0:
            raise BadInput(f"'{text[:80]}' is no mass", hint=HOW)
        with desk.ledger.read() as reader:
            lot = reader.ingredient_lot(read_lot(desk, code, kind="ingredient"))
        if lot.ingredient not in (key, RAW + key):
            raise RuleBroken(
                f"{lot.lot_code.shown} is {lot.ingredient}: no {key} is rendered from it",
                hint=f"raw fat for it is received as {RAW}{key}",
            )
        if lot.hold_reason:
            raise RuleBroken(
                f"{lot.lot_code.shown} is on hold: {lot.hold_reason}",
                hint="take another lot, or let this one go first",
            )
        if lot.lot_code in {one.lot_code for one in lots}:
            raise BadInput(f"{lot.lot_code.shown} is given twice", hint="add its masses up")
        uses.append(
            Use(
                lot_code=lot.lot_code,
                ingredient=lot.ingredient,
                role="fat",
                mass_mg=mg_from_g(mass_g),
            )
        )
        lots.append(lot)
    return tuple(uses), lots
