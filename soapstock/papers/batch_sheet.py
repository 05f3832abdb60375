"""Print the batch sheet for a pour to come, or its recipe alone for a pupil."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from soapstock.chemistry.fats import get_fat
from soapstock.codes.lot import LotCode
from soapstock.codes.reading import qr_text
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.errors import RuleBroken
from soapstock.recipes.notes import liquid_cautions
from soapstock.recipes.scaled import cautions_of, figures_of
from soapstock.units import mass_words, thermometer
from soapstock.views.fill import fill
from soapstock.views.pot import usable_lots
from soapstock.views.recipes import next_lot_code
from soapstock.views.trace import pot_memory

if TYPE_CHECKING:
    from soapstock.recipes.recipe import Recipe
    from soapstock.recipes.scaling import ScaledBatch
    from soapstock.render.paper.batch_sheet import BatchSheet, SheetLine

# of an ingredient and a mass: which lots it would come from
LotsOf = Callable[[str, Decimal], str]


@one_snapshot
def print_batch_sheet(
    desk: Desk, recipe: Recipe, version: int, scaled: ScaledBatch, path: Path, day: date
) -> LotCode:
    """Print the batch sheet of a planned pour; returns the lot code it is for.

    Raises:
        RuleBroken: the planned lye is refused; a sheet that burns skin is not printed.
    """
    from soapstock.render.paper.batch_sheet import write_batch_sheet

    lot = next_lot_code(desk, recipe.code, day)
    write_batch_sheet(
        path,
        replace(
            _sheet(desk, recipe, version, scaled, day, _lots_of(desk)),
            lot_code=lot.shown,
            qr_text=qr_text(lot, desk.shop.web or None, desk.shop.gtin_for(recipe.code)),
            notes=recipe.notes,
        ),
    )
    return lot


@one_snapshot
def print_recipe_sheet(
    desk: Desk, recipe: Recipe, version: int, scaled: ScaledBatch, path: Path, day: date
) -> None:
    """Print the recipe, scaled, to hand on to a pupil: no lots, and not the maker's own notes.

    Raises:
        RuleBroken: the planned lye is refused; a sheet that burns skin is not printed.
    """
    from soapstock.render.paper.batch_sheet import write_batch_sheet

    write_batch_sheet(path, _sheet(desk, recipe, version, scaled, day, lambda _key, _mass: ""))


def _sheet(
    desk: Desk,
    recipe: Recipe,
    version: int,
    scaled: ScaledBatch,
    day: date,
    lots: LotsOf,
) -> BatchSheet:
    """What both sheets say; `lots` tells where a mass of an ingredient would come from."""
    from soapstock.render.paper.batch_sheet import BatchSheet

    if scaled.verdict.word == "refuse":
        raise RuleBroken(
            f"no batch sheet for {recipe.code}: {scaled.verdict.reasons[0]}",
            hint="mend the recipe's lye, then scale again",
        )
    return BatchSheet(
        shop_name=desk.shop.maker,
        recipe_name=recipe.name,
        recipe_code=recipe.code,
        recipe_version=version,
        planned_on=day,
        lines=tuple(_lines(desk, scaled, lots)),
        figures=(*figures_of(scaled), *_fill(desk, recipe, scaled)),
        verdict=scaled.verdict.word,
        reasons=scaled.verdict.reasons,
        cautions=(*cautions_of(scaled), *liquid_cautions(recipe)),
        method=recipe.method,
        get_ready=desk.shop.get_ready,
        wanted=_wanted(desk, recipe),
        paper=desk.shop.paper,
    )


def _lines(desk: Desk, scaled: ScaledBatch, lots: LotsOf) -> Iterator[SheetLine]:
    """What to weigh, in order."""
    from soapstock.render.paper.batch_sheet import SheetLine

    decimals = max(-int(desk.shop.scale_step_g.normalize().as_tuple().exponent), 0)
    for f in scaled.fats:
        yield SheetLine(
            group="fats",
            name=get_fat(f.ingredient).trade_name,
            mass_text=mass_words(f.mass_g, decimals),
            note=f"{f.share_percent:.1f} % of fats",
            lots=lots(f.ingredient, f.mass_g),
        )
    for name, key, mass in (
        ("Sodium hydroxide (NaOH)", "naoh", scaled.naoh_g),
        ("Potassium hydroxide (KOH)", "koh", scaled.koh_g),
        ("Water", "", scaled.water_g),
    ):
        if mass:
            taken = lots(key, mass) if key else ""
            text = mass_words(mass, decimals)
            yield SheetLine(group="lye", name=name, mass_text=text, lots=taken)
    for a in scaled.additions:
        yield SheetLine(
            group="additions",
            name=a.name,
            mass_text=mass_words(a.mass_g) if a.mass_g is not None else "to shade",
            stage=a.stage,
            note=a.note,
            lots=lots(a.ingredient, a.mass_g or Decimal(0)),
        )


def _lots_of(desk: Desk) -> LotsOf:
    """What says of an ingredient and a mass which lots it would come from."""
    with desk.ledger.read() as reader:
        store = reader.ingredient_lots()

    def lots(key: str, mass_g: Decimal) -> str:
        taken: list[str] = []
        rest = mass_g
        for lot in usable_lots(desk, key, store):
            if rest > 0 or not taken:
                taken.append(lot.lot_code.shown)
                rest -= lot.left_g
        short = f"{mass_words(rest)} short" if rest > 0 else ""
        return ", ".join([*taken, *([short] if short else [])])

    return lots


def _wanted(desk: Desk, recipe: Recipe) -> dict[str, str]:
    """What is wanted or expected, beside the boxes for what was."""
    memory = pot_memory(desk, recipe.code)
    found = {}
    if recipe.lye_at_c is not None:
        found["Lye at mixing, °C"] = f"want {thermometer(recipe.lye_at_c)[0]:.0f}"
    if recipe.fats_at_c is not None:
        found["Fats at mixing, °C"] = f"want {thermometer(recipe.fats_at_c)[0]:.0f}"
    elif memory.setting is not None:
        found["Fats at mixing, °C"] = f"may set from {thermometer(memory.setting.high_c)[0]:.0f}"
    if (usual := memory.trace_minutes) is not None:
        found["Trace after, min"] = f"{usual.low:.0f} to {usual.high:.0f}"
    return found


def _fill(desk: Desk, recipe: Recipe, scaled: ScaledBatch) -> tuple[tuple[str, str], ...]:
    """What to fill into each cup, as a figure of the sheet; none without a declared weight."""
    if recipe.declared_weight_g is None:
        return ()
    found = fill(desk, recipe.code, pot_g=float(scaled.batch_mass_g))
    each = f": {found.cups.count} of {found.cups.each_g:.0f} g" if found.cups else ""
    return (("Cups (95 % sure)", f"{found.fill_g:g} g or more{each}"),)
