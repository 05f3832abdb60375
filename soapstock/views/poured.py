"""A batch as it was poured: masses, composition, start of drying; soap rebatched in it counted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING

from soapstock.chemistry.certificates import wet_sv
from soapstock.chemistry.composition import Part
from soapstock.chemistry.fats import get_fat
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.lye import FatPortion
from soapstock.cure.words import deciding_test
from soapstock.desk.desk import Desk
from soapstock.desk.finding import parsed_recipe
from soapstock.errors import RuleBroken
from soapstock.labelling.dates import best_before
from soapstock.recipes.moulds import batter_density_g_ml
from soapstock.recipes.weighed import ActualMasses, composition_of
from soapstock.units import grams

if TYPE_CHECKING:
    from soapstock.chemistry.composition import Composition
    from soapstock.chemistry.lye import FatPortion
    from soapstock.cure.drying import Faces
    from soapstock.cure.model import BatchStart, WeighIn
    from soapstock.cure.words import Decision
    from soapstock.ledger.facts import BatchFacts, IngredientLot, Use
    from soapstock.recipes.recipe import Recipe
    from soapstock.recipes.weighed import ActualMasses
    from soapstock.shop import Shop


def all_uses(facts: BatchFacts) -> tuple[Use, ...]:
    """All that went into the pot: from lots, then from none (water)."""
    return (*facts.pour.uses, *facts.pour.unlotted)


def actual_masses(facts: BatchFacts) -> ActualMasses:
    """The masses of a recorded pour, with each fat lot's saponification value."""
    fats, additions = [], []
    sums = {"naoh": 0, "koh": 0, "liquid": 0}
    for use in all_uses(facts):
        if use.role == "fat":
            fats.append(fat_portion(use.ingredient, use.mass_mg, facts.lot_of(use)))
        elif use.role in sums:
            sums[use.role] += use.mass_mg
        elif use.mass_mg and not use.bars:  # what rebatched soap brings: with_rebatched
            additions.append(Part(key=use.ingredient, mass_g=grams(use.mass_mg)))
    return ActualMasses(
        fats=tuple(fats),
        naoh_g=grams(sums["naoh"]),
        koh_g=grams(sums["koh"]),
        water_g=grams(sums["liquid"]),
        additions=tuple(additions),
    )


def fat_portion(fat: str, mass_mg: int, lot: IngredientLot | None) -> FatPortion:
    """A fat as weighed from a lot: its certificate's SV, else the table's less the lot's moisture.

    Acid value and moisture are the lot's when they were entered, else the fat's usual ones.
    """
    known = get_fat(fat)
    sv, acid, wet = known.sv, known.acid_value, known.moisture_percent
    if lot is not None and lot.moisture_percent is not None:
        sv, wet = wet_sv(known.sv, lot.moisture_percent), lot.moisture_percent
    if lot is not None and lot.acid_value is not None:
        acid = lot.acid_value
    if lot is not None and lot.sv_low and lot.sv_nominal and lot.sv_high:
        sv = Interval(low=lot.sv_low, nominal=lot.sv_nominal, high=lot.sv_high)
    return FatPortion(fat=fat, mass_g=grams(mass_mg), sv=sv, acid_value=acid, moisture_percent=wet)


def start_of(
    facts: BatchFacts, recipe: Recipe, actual: ActualMasses, water_fraction: float, shop: Shop
) -> BatchStart | None:
    """Where drying starts: the bar's mass at unmoulding and the water its recipe put in.

    Water is neither made nor used up by saponification, so the share at unmoulding is the share
    as poured; what little dries in the mould is inside the weigh-ins' error. A batch still in its
    mould starts from its shape's planned wet mass, unmoulded after a day.
    """
    from soapstock.cure.model import BatchStart

    faces = faces_of(shop)
    if facts.unmould is None:
        planned_g = planned_bar_g(recipe, actual)
        if planned_g is None:
            return None
        return BatchStart(
            mass_per_bar_g=planned_g,
            day=1.0,
            water_fraction=water_fraction,
            shape=recipe.bar,
            scale_step_g=float(shop.scale_step_g),
            faces=faces,
        )
    mass_g = float(facts.unmould.bar_g)
    return BatchStart(
        mass_per_bar_g=mass_g,
        day=float((facts.unmould.on - facts.poured_on).days),
        water_fraction=water_fraction,
        shape=recipe.bar,
        scale_step_g=float(shop.scale_step_g),
        faces=faces,
    )


def faces_of(shop: Shop) -> Faces:
    """Faces of a bar that dry in a shop, as the cure model takes them."""
    return "six" if shop.drying_faces == 6 else "five"


def planned_bar_g(recipe: Recipe, actual: ActualMasses) -> float | None:
    """Wet mass of a bar by its shape and the batter's density, g; None without a shape."""
    if recipe.bar is None:
        return None
    return recipe.bar.volume_ml * batter_density_g_ml(
        fat_g=sum(portion.mass_g for portion in actual.fats),
        alkali_g=actual.naoh_g + actual.koh_g,
        water_g=actual.water_g,
    )


def weigh_ins_of(facts: BatchFacts) -> tuple[WeighIn, ...]:
    """The batch's weigh-ins as the cure model takes them."""
    from soapstock.cure.model import WeighIn

    return tuple(
        WeighIn(day=float((w.on - facts.poured_on).days), mass_g=grams(w.mass_mg), bars=w.bars)
        for w in facts.weigh_ins
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Poured:
    """What a batch was at its pour, before any forecast; soap rebatched in it is counted.

    `older` is the best-before of each lot rebatched in it.
    """

    facts: BatchFacts
    recipe: Recipe
    actual: ActualMasses
    composition: Composition
    start: BatchStart | None
    older: Mapping[str, date] = field(default_factory=dict)


def as_poured(desk: Desk, facts: BatchFacts) -> Poured:
    """A batch's recipe, masses, composition at pour, and where its drying starts."""
    recipe = parsed_recipe(facts.recipe_text, f"recipe {facts.recipe_code}")
    if facts.declared:
        recipe = replace(recipe, declared_weight_g=facts.declared[-1].mass_g)
    actual = actual_masses(facts)
    composition = composition_of(recipe, actual)
    older: Mapping[str, date] = {}
    if any(use.bars for use in facts.pour.uses):
        recipe, actual, composition, older = with_rebatched(
            desk, facts, recipe, actual, composition
        )
    start = start_of(facts, recipe, actual, composition.water_fraction, desk.shop)
    return Poured(
        facts=facts,
        recipe=recipe,
        actual=actual,
        composition=composition,
        start=whole_start(start, facts) if start is not None else None,
        older=older,
    )


def keeping_of(desk: Desk, poured: Poured) -> tuple[date | None, str]:
    """A batch's best-before and how it came about.

    Soap rebatched in it always shortens it; ingredient lots do by the shop's own rule.
    """
    facts = poured.facts
    months = poured.recipe.best_before_months or desk.shop.best_before_months
    lot_dates: dict[str, date] = {
        lot.lot_code: lot.best_before
        for lot in facts.ingredient_lots.values()
        if lot.best_before is not None
    }
    capped = desk.shop.keeping_rule == "earliest-ingredient"
    until, why = best_before(
        facts.poured_on, months, {**(lot_dates if capped else {}), **poured.older}
    )
    if not capped and desk.shop.keeping_reason:
        why = f"{why}; ingredient lots do not shorten it: {desk.shop.keeping_reason}"
    return until, why


def free_alkali(facts: BatchFacts) -> tuple[bool | None, str]:
    """Whether the free-alkali tests on record let the tested gate open, and in what words."""
    speaks = deciding_test(facts.tests)
    if speaks is None:
        return None, "no free-alkali test on record"
    words = f"{speaks.method} {speaks.value}".strip() + f" on {speaks.on.isoformat()}"
    return speaks.passed, f"{words} {'passed' if speaks.passed else 'failed'}"


def standing_decision(facts: BatchFacts) -> tuple[Decision | None, str]:
    """The decision that stands, and who took it and why; a failed test ends a release before it."""
    last = facts.decisions[-1] if facts.decisions else None
    if last is None:
        return None, ""
    failed = [t for t in facts.tests if not t.passed and t.entry_id > last.entry_id]
    if last.decision == "release" and failed:
        return None, f"the release of {last.on.isoformat()} ended with the failed test"
    return last.decision, f"{last.by}: {last.reason}"


def whole_start(start: BatchStart, facts: BatchFacts) -> BatchStart:
    """The start with the bars that were counted and the batter poured for each, when known."""
    unmould = facts.unmould
    if unmould is None:
        return start
    every = unmould.bars + unmould.rejects
    poured = grams(facts.pour.batter_mg) / every if facts.pour.batter_mg and every else None
    return replace(start, bars=unmould.counted_bars, poured_per_bar_g=poured)


def piece(composition: Composition, facts: BatchFacts, bars: int = 1) -> Composition:
    """So many bars of a batch as they came out of the mould, from the whole pot's composition."""
    out = facts.unmould
    if out is None:
        raise RuleBroken(f"{facts.lot_code.shown} is still in its mould")
    mass_g = bars * float(out.bar_g)
    return composition.scaled(mass_g / composition.total_g)


def with_rebatched(
    desk: Desk, facts: BatchFacts, recipe: Recipe, actual: ActualMasses, composition: Composition
) -> tuple[Recipe, ActualMasses, Composition, Mapping[str, date]]:
    """A pot's recipe, masses and composition with the soap that was rebatched in it.

    Returns:
        recipe: its additions and precautions joined by those of the soap, for the label.
        actual: what the soap was made of, less the water it had lost, added.
        composition: the sum, nothing reacting anew.
        dates: best-before of each lot rebatched, by lot code.
    """
    dates: dict[str, date] = {}
    with desk.ledger.read() as reader:
        sources = [(use, reader.batch(use.lot_code or "")) for use in facts.pour.uses if use.bars]
    for use, source in sources:
        poured = as_poured(desk, source)
        fresh = piece(poured.composition, source, use.bars or 0)
        mass_g = max(grams(use.mass_mg), fresh.dry_g)
        share = fresh.total_g / poured.composition.total_g
        actual = _added(actual, poured.actual, share, lost_g=fresh.total_g - mass_g)
        composition = composition.beside(fresh.with_total(mass_g))
        recipe = _joined(recipe, poured.recipe)
        until, _ = keeping_of(desk, poured)
        if until is not None:
            dates[source.lot_code] = until
    return recipe, actual, composition, dates


def _added(
    actual: ActualMasses, inside: ActualMasses, share: float, *, lost_g: float
) -> ActualMasses:
    return replace(
        actual,
        fats=(*actual.fats, *(replace(p, mass_g=p.mass_g * share) for p in inside.fats)),
        naoh_g=actual.naoh_g + inside.naoh_g * share,
        koh_g=actual.koh_g + inside.koh_g * share,
        water_g=actual.water_g + max(0.0, inside.water_g * share - lost_g),
        additions=(
            *actual.additions,
            *(replace(p, mass_g=p.mass_g * share) for p in inside.additions),
        ),
    )


def _joined(recipe: Recipe, other: Recipe) -> Recipe:
    own = {addition.ingredient for addition in recipe.additions}
    return replace(
        recipe,
        additions=(*recipe.additions, *(a for a in other.additions if a.ingredient not in own)),
        precautions=tuple(dict.fromkeys([*recipe.precautions, *other.precautions])),
    )
