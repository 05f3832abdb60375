"""A bar not yet poured: what it takes, how it will dry, and how a person fills."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from soapstock.desk.desk import Desk
from soapstock.errors import RuleBroken
from soapstock.planning.fill import Evenness, Subset, learn_evenness
from soapstock.recipes.scaling import Target, scale
from soapstock.units import grams
from soapstock.views.composition import planned_composition
from soapstock.views.poured import faces_of
from soapstock.views.recipes import lot_saponification

if TYPE_CHECKING:
    from soapstock.cure.model import Forecast
    from soapstock.cure.teachers import Teachers
    from soapstock.ledger.facts import BatchFacts
    from soapstock.recipes.recipe import Recipe

LATEST = 3  # pours whose batter a bar tells how much the next takes
DAYS_A_MONTH = 365.25 / 12.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Coming:
    """A bar of a recipe, before it is poured.

    Attributes:
        bar_g: batter in one bar, g, and bar_from: what that is known from.
        needs_g: what is weighed for one bar, g, water left out.
        forecast: how it will dry, by the shop's finished batches.
    """

    recipe: Recipe
    bar_g: float
    bar_from: str
    needs_g: dict[str, float]
    forecast: Forecast
    cure_days: int
    dry_days: tuple[float, float, float]

    @property
    def late_days(self) -> int:
        """Days from the pour to when it is cured and dry, by the late bound."""
        return max(self.cure_days, int(self.dry_days[2]) + 1)


def coming_bar(
    desk: Desk,
    recipe: Recipe,
    batches: Sequence[BatchFacts],
    teachers: Teachers,
    *,
    day: date,
    bar_g: float | None = None,
) -> Coming:
    """The next bar of a recipe.

    Args:
        batches: batches of this recipe, whose batter a bar is taken; of its shape without any.
        bar_g: batter in one bar where it is known, g.

    Raises:
        RuleBroken: nothing says how large a bar is.
    """
    from soapstock.cure.model import BatchStart, forecast
    from soapstock.cure.teachers import Kind, season_of

    scaled = scale(
        recipe,
        Target(total_fat_g=Decimal(10_000)),
        scale_step_g=Decimal("0.1"),
        sv=lot_saponification(desk, recipe),
        market=desk.shop.market,
    )
    told, source = _bar_of(recipe, batches, float(scaled.wet_bar_g or 0))
    mass_g = bar_g or told
    if not mass_g:
        raise RuleBroken(
            f"nothing says how large a bar of {recipe.name} is",
            hint="give its recipe a [bar] with its sizes",
        )
    share = mass_g / float(scaled.batch_mass_g)
    needs = {line.ingredient: float(line.mass_g) * share for line in scaled.fats}
    lye = (("naoh", scaled.naoh_g), ("koh", scaled.koh_g))
    needs |= {key: float(mass) * share for key, mass in lye if mass}
    needs |= {key: mass * share for key, mass in scaled.added_g.items()}
    start = BatchStart(
        mass_per_bar_g=mass_g,
        day=1.0,
        water_fraction=planned_composition(desk, recipe, scaled).water_fraction,
        shape=recipe.bar,
        scale_step_g=float(desk.shop.scale_step_g),
        faces=faces_of(desk.shop),
    )
    kind = Kind(recipe=recipe.code, room="rack", season=season_of(day.month))
    known = forecast(start, (), prior=teachers.prior(kind))
    dry = known.dry_day(desk.shop.dry_week_loss_percent)
    return Coming(
        recipe=recipe,
        bar_g=mass_g,
        bar_from="as given" if bar_g else source,
        needs_g=needs,
        forecast=known,
        cure_days=recipe.cure_days or desk.shop.default_cure_days,
        dry_days=(dry.early, dry.expected, dry.late),
    )


def _bar_of(recipe: Recipe, batches: Sequence[BatchFacts], by_shape_g: float) -> tuple[float, str]:
    done = [b for b in batches if b.unmould is not None and b.unmould.bars + b.unmould.rejects]
    latest = sorted(done, key=lambda b: (b.poured_on, b.entry_id))[-LATEST:]
    if not latest:
        return by_shape_g, "its shape"
    bars = sum(b.unmould.bars + b.unmould.rejects for b in latest if b.unmould is not None)
    batter_g = grams(sum(b.pour.batter_mg for b in latest))
    pours = "its last pour" if len(latest) == 1 else f"its last {len(latest)} pours"
    return batter_g / bars, pours


def evenness(batches: Sequence[BatchFacts], person: str) -> Evenness:
    """How evenly a person fills, from bars that they counted and weighed out of the mould.

    The weighed bars are set beside all the batter of their pour, so that a batch of which all bars
    were weighed, or whose batter is not known, teaches nothing.
    """
    told = []
    for batch in batches:
        out = batch.unmould
        if out is None or out.by != person or not batch.pour.batter_mg:
            continue
        every = out.bars + out.rejects
        if 0 < out.counted_bars < every:
            mean_mg = out.counted_mass_mg / out.counted_bars
            share = mean_mg / (batch.pour.batter_mg / every)
            told.append(Subset(weighed=out.counted_bars, all_bars=every, share=share))
    return learn_evenness(told)


def with_water(recipe: Recipe, text: str | None) -> Recipe:
    """The recipe with other water, as a recipe says it; unchanged for None. Raises BadInput."""
    if text is None:
        return recipe
    from soapstock.recipes.water import parse_water

    if recipe.water is None:
        raise RuleBroken(
            f"{recipe.name} states its water as a mass", hint="write its next version with a rule"
        )
    return replace(recipe, water=parse_water(text, liquids_count=recipe.water.liquids_count))
