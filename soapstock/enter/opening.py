"""Bars that were there before the ledger began: entered with what is known of them."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from soapstock.desk.desk import Desk
from soapstock.desk.finding import find_recipe, free_lot_code, parsed_recipe
from soapstock.desk.ingredients import canonical
from soapstock.enter.entered import Entered, bar_count
from soapstock.enter.pour import judgement_record
from soapstock.errors import BadInput, Mend, RuleBroken
from soapstock.ledger.facts import PourFacts, Use
from soapstock.recipes.pour import judge_pour
from soapstock.recipes.scaling import Target, scale
from soapstock.recipes.weighing import (
    WATER,
    Weighed,
    _role,
    check_complete,
    parse_weighed,
    plain_masses,
    planned_weighings,
    refuse_slips,
)
from soapstock.units import g_from_mg, mass_words, mg_from_g, parse_mass_g, several
from soapstock.views.recipes import lot_saponification

if TYPE_CHECKING:
    from decimal import Decimal

    from soapstock.codes.lot import LotCode
    from soapstock.ledger.write.writer import Writer
    from soapstock.recipes.pour import PourJudgement
    from soapstock.recipes.recipe import Recipe

AS_NOTED = "poured before the ledger began: its masses are those of the notes"
AS_RECIPE = "poured before the ledger began: its masses are the recipe's, nobody noted them"
MOULD_DAYS = 1  # a day in the mould: the least, so that nothing counts as dry too early


@dataclass(frozen=True, slots=True, kw_only=True)
class Bars:
    """The bars that are there.

    Attributes:
        count: how many are there.
        made: how many came out of the pot; with its masses, what a bar weighed when it was wet.
        mass: what they all weigh today, such as `1180g`; empty when nobody weighed them.
        place: where they lie.
    """

    count: int
    made: int | None = None
    mass: str = ""
    place: str = "rack"


def open_bars(
    desk: Desk,
    code: str,
    weighed: Sequence[str],
    poured_on: date,
    bars: Bars,
    *,
    as_recipe: bool = False,
    record_anyway: str = "",
    sure: bool = False,
    note: str = "",
) -> Entered:
    """Enter bars poured before the ledger began, with a lot code of the day they were poured.

    Nothing is known of the lots that went in, so the pour names none: such a batch teaches the
    forecasts nothing, and a recall of an ingredient says that it may hold some.

    Args:
        weighed: `name=mass` of each ingredient, from the notes.
        poured_on: the day it was poured, or the latest that it can have been.
        as_recipe: nobody noted the masses: the recipe's own for so many bars stand in.
        record_anyway: a reason to enter a batch whose noted lye is refused; it is put on hold.
        sure: the maker says that odd masses are right.

    Raises:
        BadInput: masses both given and left to the recipe, or neither.
        RuleBroken: the noted masses are refused; nothing is written.
    """
    made = _bars_made(bars)
    if poured_on > desk.today - timedelta(days=MOULD_DAYS):
        raise BadInput(f"{poured_on} is not before today", hint="enter it as a pour")
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        recipe, version = find_recipe(reader, code)
        others = tuple(parsed_recipe(r.text, f"recipe {r.code}") for r in reader.recipes())
        given = _masses(here, recipe, weighed, made if as_recipe else None)
        judgement = judge_pour(
            recipe,
            plain_masses(recipe, given),
            None,
            scale_step_g=here.shop.scale_step_g,
            others=others,
            market=here.shop.market,
        )
        refuse_slips(judgement, record_anyway=record_anyway, sure=sure)
        lot = free_lot_code(reader, recipe.code, poured_on)
        uses = tuple(_use(recipe, one) for one in given)
        batter_mg = sum(use.mass_mg for use in uses)
        entry = writer.pour(
            here.stamp(poured_on, note),
            PourFacts(
                lot_code=lot,
                recipe_code=recipe.code,
                recipe_version=version,
                uses=(),
                unlotted=uses,
                judgement_json=json.dumps(_judged(judgement, as_recipe=as_recipe)),
                batter_mg=batter_mg,
            ),
        )
        _enter_bars(here, writer, lot, bars, batter_mg, made, poured_on, note)
        if judgement.verdict.word == "refuse":
            said = f"lye refused by the notes: {record_anyway.strip()}"
            writer.decide(here.stamp(None), lot, "hold", said)
    return Entered(
        entry_id=entry,
        lot_code=lot,
        said=f"Entered {several(bars.count, 'bar')} of {recipe.name} from before the ledger as lot "
        f"{lot.shown}, poured {poured_on}.",
        notes=_to_note(bars, as_recipe=as_recipe),
    )


def _bars_made(bars: Bars) -> int:
    """How many bars came out of the pot. Raises BadInput when fewer than are there."""
    bar_count(bars.count, "bars")
    made = bar_count(bars.made if bars.made is not None else bars.count, "bars made")
    if made < bars.count:
        raise BadInput(f"{made} bars were made and {bars.count} are there", hint="check the counts")
    return made


def _enter_bars(
    here: Desk,
    writer: Writer,
    lot: LotCode,
    bars: Bars,
    batter_mg: int,
    made: int,
    poured_on: date,
    note: str,
) -> None:
    """The bars out of the mould, at their share of the pot, and what they weigh today."""
    writer.unmould(
        here.stamp(poured_on + timedelta(days=MOULD_DAYS), note),
        lot,
        bars=bars.count,
        rejects=0,
        counted_bars=bars.count,
        counted_mass_mg=batter_mg * bars.count // made,
        place=bars.place,
    )
    if bars.mass:
        mass_g = _weighed_today(bars, g_from_mg(batter_mg) / made)
        writer.weigh(here.stamp(None, note), lot, bars.count, mg_from_g(mass_g))


def _masses(
    desk: Desk, recipe: Recipe, weighed: Sequence[str], bars: int | None
) -> tuple[Weighed, ...]:
    """What went into the pot: as noted, or the recipe's own masses for so many bars."""
    if bars is None:
        given = [parse_weighed(text, recipe, canonical) for text in weighed]
        if not given:
            raise BadInput("what went into the pot is not said", mend=Mend("opening_masses"))
        check_complete(recipe, given)
        if any(one.lot for one in given):
            raise BadInput("bars from before name no lots", hint="leave out what follows the @")
        return tuple(one for one in given if one.mass_g)
    if weighed:
        raise BadInput("masses are given and left to the recipe", hint="give one of the two")
    plan = scale(
        recipe,
        Target(bars=bars),
        scale_step_g=desk.shop.scale_step_g,
        sv=lot_saponification(desk, recipe),
        market=desk.shop.market,
    )
    return tuple(planned_weighings(plan))


def _use(recipe: Recipe, one: Weighed) -> Use:
    role = "liquid" if one.ingredient == WATER else _role(recipe, one.ingredient)
    key = one.ingredient if one.ingredient == WATER else canonical(one.ingredient)
    return Use(lot_code=None, ingredient=key, role=role, mass_mg=mg_from_g(one.mass_g))


def _judged(judgement: PourJudgement, *, as_recipe: bool) -> dict[str, object]:
    """The judgement as kept: notes of another time are never called safe."""
    kept = judgement_record(judgement)
    known = AS_RECIPE if as_recipe else AS_NOTED
    word = "check" if judgement.verdict.word == "safe" else judgement.verdict.word
    return kept | {"verdict": word, "reasons": [known, *judgement.verdict.reasons]}


def _weighed_today(bars: Bars, wet_g: Decimal) -> Decimal:
    """What the bars weigh together, g. Raises RuleBroken where they cannot."""
    mass_g = parse_mass_g(bars.mass, "mass")
    each_g = mass_g / bars.count
    if not wet_g / 2 <= each_g <= wet_g:
        raise RuleBroken(
            f"{mass_words(each_g, 1)} a bar cannot be: wet it was {mass_words(wet_g, 1)}",
            hint="check the counts, the mass and its unit; nothing was written",
        )
    return mass_g


def _to_note(bars: Bars, *, as_recipe: bool) -> tuple[str, ...]:
    notes = [
        AS_RECIPE[0].upper() + AS_RECIPE[1:] if as_recipe else AS_NOTED[0].upper() + AS_NOTED[1:],
        "The lots that went in are not known: a recall of an ingredient cannot name these bars.",
        "They need a test for free alkali and a release like any other.",
    ]
    if not bars.mass:
        notes.append("Weigh them: without it, what they weigh now is only reckoned.")
    return tuple(f"{note.rstrip('.')}." for note in notes)
