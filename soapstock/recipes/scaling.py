"""Scaling a recipe to the fat at hand: masses, the superfat they really give, and a verdict."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from soapstock.chemistry.fats import get_fat
from soapstock.chemistry.heat import LyePeak, lye_peak
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.lye import FatPortion, Verdict
from soapstock.chemistry.takers import lye_takers
from soapstock.chemistry.uncertainty import SuperfatStudy
from soapstock.errors import BadInput
from soapstock.recipes.keys import keys_meant
from soapstock.recipes.limits import OverLimit, over_limits
from soapstock.recipes.notes import NotedMasses, batch_notes, intended_superfat
from soapstock.recipes.recipe import Recipe
from soapstock.recipes.verdicts import judge_pot, with_limits, with_solution
from soapstock.recipes.written import (
    Written,
    addition_g,
    counted_water_g,
    lye_by_rule,
    lye_needed,
    lye_of,
    naoh_share_of,
    plain_water_g,
    portions_of,
    sv_in_use,
    takers_by_rule,
    write_out,
)
from soapstock.units import mass_words, round_to_step

FINE_STEP_G = Decimal("0.01")
STEPS_FOR_SMALL = 10  # an addition of fewer steps than this is weighed on a finer scale
MIN_FACTOR, MAX_FACTOR = 1e-6, 1e6
ZERO = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """What to scale to: exactly one of the four.

    Attributes:
        have: an ingredient and the grams of it at hand; the key may be a unique part of one
            (`tallow`), and may be an addition, `naoh`, `koh` or `water`.
        total_fat_g: all fats, g.
        bars: count of bars of the recipe's shape.
        mould_volume_ml: volume to fill, mL.

    Raises:
        BadInput: none or several given, or not above zero.
    """

    have: tuple[str, Decimal] | None = None
    total_fat_g: Decimal | None = None
    bars: int | None = None
    mould_volume_ml: Decimal | None = None

    def __post_init__(self) -> None:
        have = self.have[1] if self.have else None
        options = (have, self.total_fat_g, self.bars, self.mould_volume_ml)
        given = [x for x in options if x is not None]
        if len(given) != 1:
            raise BadInput(
                f"{len(given)} targets given, not one",
                hint="scale to one ingredient at hand, a total fat, a bar count or a mould volume",
            )
        if not given[0] > 0:
            raise BadInput(f"the target {given[0]} is not above zero")


@dataclass(frozen=True, slots=True, kw_only=True)
class FatLine:
    """One fat to weigh."""

    ingredient: str
    name: str
    mass_g: Decimal
    share_percent: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AdditionLine:
    """One addition to weigh, or to add to a shade (mass None)."""

    ingredient: str
    name: str
    stage: str
    mass_g: Decimal | None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaledBatch:
    """A batch ready to weigh. Masses are rounded to the scale's step and judged as rounded.

    Attributes:
        scale_factor: times the recipe as written (by shares: times 1 kg of fats).
        lye_concentration_percent: hydroxide as weighed, % of the lye solution's mass.
        naoh_should_be_g, koh_should_be_g: where the lye is as written, what its own or the usual
            superfat asks.
        peak: None when no table covers the lye; a note then says so.
        batch_mass_g: everything weighed; unmeasured colours left out.
        bars, wet_bar_g: from the bar's volume and the batter's density, if there is a shape.
        superfat: bounds of the fats' and the lye's ranges and of weighing, all at their worst;
            `study` adds the central 95 % and the causes.
    """

    code: str
    name: str
    scale_factor: float
    fats: tuple[FatLine, ...]
    naoh_g: Decimal
    koh_g: Decimal
    water_g: Decimal
    additions: tuple[AdditionLine, ...]
    lye_concentration_percent: float
    water_to_lye: float
    superfat: Interval
    verdict: Verdict
    naoh_should_be_g: Decimal | None
    koh_should_be_g: Decimal | None
    peak: LyePeak | None
    batch_mass_g: Decimal
    bars: int | None
    wet_bar_g: Decimal | None
    notes: tuple[str, ...]
    study: SuperfatStudy | None = None

    @property
    def added_g(self) -> dict[str, float]:
        """Measured additions by ingredient, g."""
        return _added_g(self.additions)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Job:
    """One scaling under way."""

    recipe: Recipe
    written: Written
    sv: Mapping[str, Interval]
    factor: float
    step: Decimal
    market: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Masses:
    """Rounded masses of a job, g; `inside_g` is water inside liquids that count as water."""

    fats: Mapping[str, Decimal]
    naoh_g: Decimal
    koh_g: Decimal
    water_g: Decimal
    inside_g: Decimal = ZERO

    @property
    def wet_g(self) -> Decimal:
        return self.water_g + self.inside_g

    @property
    def fat_g(self) -> Decimal:
        return sum(self.fats.values(), ZERO)

    @property
    def alkali_g(self) -> Decimal:
        return self.naoh_g + self.koh_g

    @property
    def core_g(self) -> Decimal:
        return self.fat_g + self.alkali_g + self.water_g

    @property
    def concentration_percent(self) -> float:
        return float(100 * self.alkali_g / (self.alkali_g + self.wet_g))

    def noted(self, step: Decimal) -> NotedMasses:
        return NotedMasses(naoh_g=self.naoh_g, koh_g=self.koh_g, water_g=self.water_g, step_g=step)


def scale(
    recipe: Recipe,
    target: Target,
    *,
    scale_step_g: Decimal = Decimal(1),
    sv: Mapping[str, Interval] | None = None,
    start_c: float = 20.0,
    market: str | None = None,
) -> ScaledBatch:
    """The recipe scaled to the target.

    A recipe by rule gets its lye from the rounded fats; stated lye is scaled as written and judged.

    Args:
        recipe: the recipe.
        target: what to scale to.
        scale_step_g: smallest step of the scale, g.
        sv: saponification values, mg KOH/g, to use instead of the table's, by fat key.
        start_c: temperature of the water, C.
        market: whose law limits the additions; None counts every market's.

    Raises:
        BadInput: target not in the recipe, or a batch too small for the scale's step.
    """
    if scale_step_g <= 0:
        raise BadInput(f"scale step {scale_step_g} g is not above zero")
    values = sv_in_use(recipe, sv)
    written = write_out(recipe, values)
    factor = _factor(recipe, written, target)
    if not MIN_FACTOR < factor < MAX_FACTOR:
        raise BadInput(f"scaling by {factor:g} is no sensible pour", hint="check the unit")
    job = _Job(
        recipe=recipe, written=written, sv=values, factor=factor, step=scale_step_g, market=market
    )
    return _batch(job, target, _masses(job), start_c)


def _factor(recipe: Recipe, written: Written, target: Target) -> float:
    if target.have is not None:
        return float(target.have[1]) / _mass_at_hand(recipe, written, target.have[0])
    if target.total_fat_g is not None:
        return float(target.total_fat_g) / written.fat_g
    if target.mould_volume_ml is not None:
        return float(target.mould_volume_ml) * written.density_g_ml / written.batch_g
    if recipe.bar is None:
        raise BadInput(
            f"recipe {recipe.code} has no bar size, so a count of bars says no mass",
            hint="add [bar] with shape and sizes, or scale to a total fat",
        )
    volume_ml = (target.bars or 0) * recipe.bar.volume_ml
    return volume_ml * written.density_g_ml / written.batch_g


def _mass_at_hand(recipe: Recipe, written: Written, key: str) -> float:
    masses = dict(written.fats)
    masses |= {one.ingredient: mass for one, mass in written.additions if mass}
    masses |= {"naoh": written.naoh_g, "koh": written.koh_g, "water": written.water_g}
    known = [name for name, mass in masses.items() if mass > 0.0]
    matches = keys_meant(key, known)
    if len(matches) == 1:
        return masses[matches[0]]
    what = "fits several ingredients of" if matches else "is not weighed in"
    raise BadInput(
        f"'{key}' {what} recipe {recipe.code}", hint=f"one of: {', '.join(matches or known)}"
    )


def _masses(job: _Job) -> _Masses:
    written, factor = job.written, job.factor
    fats = {key: _rounded(key, mass * factor, job.step) for key, mass in written.fats.items()}
    if job.recipe.as_written is not None:
        naoh, koh = written.naoh_g * factor, written.koh_g * factor
        water = written.water_g * factor
    else:
        fat_g = float(sum(fats.values()))
        takers = takers_by_rule(job.recipe, fat_g, factor=factor)
        naoh, koh = lye_by_rule(job.recipe, (*portions_of(fats, job.sv), *takers))
        water = plain_water_g(job.recipe, fat_g, naoh + koh, factor=factor)
    none_left = job.recipe.water is not None and job.recipe.water.liquids_count and water < job.step
    return _Masses(
        fats=fats,
        naoh_g=_rounded("NaOH", naoh, job.step) if naoh > 0.0 else ZERO,
        koh_g=_rounded("KOH", koh, job.step) if koh > 0.0 else ZERO,
        water_g=ZERO if none_left else _rounded("water", water, job.step),
    )


def _rounded(key: str, mass_g: float, step: Decimal) -> Decimal:
    rounded = round_to_step(mass_g, step)
    if rounded <= 0:
        raise BadInput(
            f"{key}: {mass_words(mass_g)} is less than the scale's step of {mass_words(step)}",
            hint="make a larger batch or use a finer scale",
        )
    return rounded


def _addition_lines(job: _Job, masses: _Masses) -> tuple[AdditionLine, ...]:
    lines: list[AdditionLine] = []
    for addition, written_g in job.written.additions:
        mass: Decimal | None = None
        note = f"to a shade: {addition.to_shade}" if addition.to_shade else "to a shade, unmeasured"
        if written_g is not None:
            exact = addition_g(addition, float(masses.fat_g), float(masses.core_g)) or 0.0
            scaled = exact * job.factor if addition.basis == "mass" else exact
            mass, note = _small_mass(scaled, job.step)
        lines.append(
            AdditionLine(
                ingredient=addition.ingredient,
                name=addition.label_name or addition.ingredient.replace("-", " "),
                stage=addition.stage,
                mass_g=mass,
                note=note,
            )
        )
    return tuple(lines)


def _added_g(additions: Sequence[AdditionLine]) -> dict[str, float]:
    added: dict[str, float] = {}
    for one in additions:
        if one.mass_g:
            added[one.ingredient] = added.get(one.ingredient, 0.0) + float(one.mass_g)
    return added


def _small_mass(mass_g: float, step: Decimal) -> tuple[Decimal, str]:
    """An addition's mass on the scale, or finer when the scale is too coarse for it."""
    rounded = round_to_step(mass_g, step)
    if rounded >= STEPS_FOR_SMALL * step or step <= FINE_STEP_G:
        return rounded, ""
    return round_to_step(mass_g, FINE_STEP_G), f"weigh on a finer scale than {mass_words(step)}"


def _batch(job: _Job, target: Target, masses: _Masses, start_c: float) -> ScaledBatch:
    recipe = job.recipe
    naoh, koh, water = masses.naoh_g, masses.koh_g, masses.water_g
    additions = _addition_lines(job, masses)
    added = _added_g(additions)
    portions = (*portions_of(masses.fats, job.sv), *lye_takers(added))
    lye = lye_of(recipe, naoh, koh)
    study, verdict = judge_pot(
        portions, lye, scale_step_g=float(job.step), meant_percent=intended_superfat(recipe)
    )
    batch_g = masses.core_g + sum((one.mass_g or ZERO for one in additions), ZERO)
    masses = replace(masses, inside_g=Decimal(repr(counted_water_g(recipe, added))))
    over = over_limits(recipe, added, float(batch_g - masses.wet_g), job.market)
    should = _should_be(job, portions)
    ready = recipe.lye.ready_percent
    peak = lye_peak(
        naoh_g=float(naoh),
        koh_g=float(koh),
        water_g=float(masses.wet_g),
        start_c=start_c,
        ready_percent=ready.nominal if ready is not None else None,
    )
    wet_g = None if recipe.bar is None else recipe.bar.volume_ml * job.written.density_g_ml
    return ScaledBatch(
        code=recipe.code,
        name=recipe.name,
        scale_factor=job.factor,
        fats=_fat_lines(masses),
        naoh_g=naoh,
        koh_g=koh,
        water_g=water,
        additions=additions,
        lye_concentration_percent=masses.concentration_percent,
        water_to_lye=float(masses.wet_g / masses.alkali_g),
        superfat=study.bounds,
        verdict=_lowered(verdict, masses, over),
        naoh_should_be_g=should[0] if should else None,
        koh_should_be_g=should[1] if should else None,
        peak=peak,
        batch_mass_g=batch_g,
        bars=_bars(target, batch_g, wet_g),
        wet_bar_g=None if wet_g is None else round_to_step(wet_g, Decimal("0.1")),
        notes=batch_notes(recipe, masses.noted(job.step), peak, should, market=job.market),
        study=study,
    )


def _lowered(verdict: Verdict, masses: _Masses, over: Sequence[OverLimit]) -> Verdict:
    dissolved = with_solution(verdict, masses.concentration_percent, has_koh=masses.koh_g > 0)
    return with_limits(dissolved, over)


def _fat_lines(masses: _Masses) -> tuple[FatLine, ...]:
    return tuple(
        FatLine(
            ingredient=key,
            name=get_fat(key).trade_name,
            mass_g=mass,
            share_percent=float(100 * mass / masses.fat_g),
        )
        for key, mass in masses.fats.items()
    )


def _bars(target: Target, batch_g: Decimal, wet_g: float | None) -> int | None:
    if target.bars is not None:
        return target.bars
    return None if wet_g is None else math.floor(float(batch_g) / wet_g + 1e-9)


def _should_be(job: _Job, portions: Sequence[FatPortion]) -> tuple[Decimal, Decimal] | None:
    recipe = job.recipe
    if recipe.as_written is None:
        return None
    naoh, koh = lye_needed(recipe, portions, intended_superfat(recipe), naoh_share_of(recipe))
    return round_to_step(naoh, job.step), round_to_step(koh, job.step)
