"""What the masses as weighed mean: their superfat, the verdict, and the likeliest slip."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from soapstock.chemistry.fats import all_fats, get_fat
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.lye import FatPortion, Verdict, superfat_percent
from soapstock.chemistry.takers import lye_takers
from soapstock.chemistry.uncertainty import SuperfatStudy
from soapstock.errors import BadInput
from soapstock.recipes.limits import over_limits
from soapstock.recipes.notes import intended_superfat
from soapstock.recipes.recipe import Recipe
from soapstock.recipes.scaling import ScaledBatch, Target, scale
from soapstock.recipes.slips import WeighLine, likeliest_slip
from soapstock.recipes.verdicts import judge_pot, with_limits, with_solution
from soapstock.recipes.weighed import ActualMasses, composition_of
from soapstock.recipes.written import counted_water_g, lye_of, portions_of, water_of_ready_lye_g
from soapstock.tables import read_toml
from soapstock.units import mass_words

__all__ = ["ActualMasses", "PourJudgement", "composition_of", "judge_pour"]

NOTABLE_PERCENT = 1.0
NOTABLE_STEPS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class PourJudgement:
    """What the as-weighed masses mean.

    Attributes:
        slip: the likeliest slip in words, or None.
        differences: each notable difference from the plan, in words.
        far_off: names of fats and lye weighed so far from the plan that a slip is likelier than a
            choice, whatever the superfat says.
        superfat: bounds, weighing errors included; `study` adds the central 95 % and the causes.
    """

    superfat: Interval
    verdict: Verdict
    slip: str | None
    differences: tuple[str, ...]
    study: SuperfatStudy | None = None
    far_off: tuple[str, ...] = ()


def judge_pour(
    recipe: Recipe,
    actual: ActualMasses,
    planned: ScaledBatch | None,
    *,
    scale_step_g: Decimal,
    others: Sequence[Recipe] = (),
    market: str | None = None,
) -> PourJudgement:
    """Judge the masses as weighed, before anything is written down.

    Besides the verdict on the superfat alone, a pour is refused when lye could be left over and
    the masses took the superfat well below the plan's: an honest pour stays near its plan.

    Args:
        recipe: the recipe poured.
        actual: what was weighed.
        planned: the scaled batch it was weighed by; None compares with the recipe scaled to the
            fat that was weighed.
        scale_step_g: the scale's step, g.
        others: the shop's other recipes, to recognise the lye of another recipe.
        market: whose law limits the additions; None counts every market's.

    Raises:
        BadInput: no fat or no lye was weighed.
    """
    fat_g = _weighed_fat_g(actual)
    _refuse_lost_water(recipe, actual, scale_step_g)
    lye = lye_of(recipe, actual.naoh_g, actual.koh_g)
    study, verdict = judge_pot(
        actual.takers,
        lye,
        scale_step_g=float(scale_step_g),
        meant_percent=intended_superfat(recipe),
    )
    sv = _weighed_sv(actual.fats)
    plan = planned or _plan_for(recipe, fat_g, scale_step_g, sv)
    lines = tuple(_compare(actual, plan))
    differences = tuple(
        text for line in lines if (text := _difference(line, scale_step_g)) is not None
    )
    added = {part.key: part.mass_g for part in actual.additions}
    dry_g = fat_g + actual.naoh_g + actual.koh_g + sum(added.values())
    wet_g = actual.water_g + counted_water_g(recipe, added)
    meant = _planned_superfat(recipe, plan, sv)
    verdict = with_limits(
        _lowered(verdict, actual, wet_g, study, meant), over_limits(recipe, added, dry_g, market)
    )
    slip = None
    if verdict.word != "safe" or differences:
        other_lyes = _other_lyes(others, recipe, fat_g, scale_step_g)
        slip = likeliest_slip(lines, other_lyes, lye_heavy=study.nominal < 0.0)
    far = float(read_toml("chemistry/lye.toml")["pour"]["far_off_percent"]) / 100.0
    return PourJudgement(
        superfat=study.bounds,
        verdict=verdict,
        slip=slip,
        differences=differences,
        study=study,
        far_off=tuple(line.name for line in lines if line.key != "water" and line.gap > far),
    )


def _weighed_fat_g(actual: ActualMasses) -> float:
    """The fat in the pot. Raises BadInput where it, or the lye, is missing."""
    fat_g = sum(portion.mass_g for portion in actual.fats)
    if fat_g <= 0.0:
        raise BadInput("no fat was weighed", hint="give the mass of each fat")
    if actual.naoh_g + actual.koh_g <= 0.0:
        raise BadInput("no lye was weighed", hint="give the mass of NaOH or KOH")
    return fat_g


def _plan_for(
    recipe: Recipe, fat_g: float, step: Decimal, sv: Mapping[str, Interval] | None = None
) -> ScaledBatch:
    return scale(recipe, Target(total_fat_g=Decimal(repr(fat_g))), scale_step_g=step, sv=sv)


def _weighed_sv(portions: Sequence[FatPortion]) -> dict[str, Interval]:
    """Saponification value of each fat as weighed: the mean of its lots by mass."""
    masses: dict[str, float] = {}
    for portion in portions:
        masses[portion.fat] = masses.get(portion.fat, 0.0) + portion.mass_g
    found: dict[str, Interval] = {}
    for fat, mass_g in masses.items():
        if mass_g > 0.0:
            lots = [(one.mass_g / mass_g, one.sv) for one in portions if one.fat == fat]
            found[fat] = Interval(
                low=sum(share * sv.low for share, sv in lots),
                nominal=sum(share * sv.nominal for share, sv in lots),
                high=sum(share * sv.high for share, sv in lots),
            )
    return found


def _refuse_lost_water(recipe: Recipe, actual: ActualMasses, step: Decimal) -> None:
    """Ready lye brings water: entered as NaOH, with less water than that, a mass is wrong."""
    inside_g = water_of_ready_lye_g(recipe, actual.naoh_g)
    if actual.water_g < inside_g - 2.0 * float(step):
        raise BadInput(
            f"ready lye that holds {mass_words(actual.naoh_g)} NaOH brings "
            f"{mass_words(inside_g, 0)} of water, "
            f"more than the {mass_words(actual.water_g)} entered",
            hint="enter the NaOH in the ready lye, and all the water, its own included",
        )


def _planned_superfat(recipe: Recipe, plan: ScaledBatch, sv: Mapping[str, Interval]) -> float:
    """Nominal superfat of the plan's masses at the lots' own values: only masses count as slips."""
    masses = {line.ingredient: line.mass_g for line in plan.fats}
    values = {fat: sv.get(fat) or get_fat(fat).sv for fat in masses}
    lye = lye_of(recipe, plan.naoh_g, plan.koh_g)
    portions = (*portions_of(masses, values), *lye_takers(plan.added_g))
    return superfat_percent(portions, lye).nominal


def _lowered(
    verdict: Verdict,
    actual: ActualMasses,
    wet_g: float,
    study: SuperfatStudy,
    planned_percent: float,
) -> Verdict:
    alkali_g = actual.naoh_g + actual.koh_g
    concentration = 100.0 * alkali_g / (alkali_g + wet_g)
    verdict = with_solution(verdict, concentration, has_koh=actual.koh_g > 0.0)
    fall = planned_percent - study.nominal
    limit = float(read_toml("chemistry/lye.toml")["pour"]["refuse_fall_points"])
    if verdict.word == "refuse" or study.bounds.low >= 0.0 or fall <= limit:
        return verdict
    reason = (
        f"the masses took the superfat from {planned_percent:.1f} % as planned to "
        f"{study.nominal:.1f} %, and lye could be left over: find the slip first"
    )
    return Verdict(word="refuse", reasons=(reason, *verdict.reasons))


def _other_lyes(
    others: Sequence[Recipe], recipe: Recipe, fat_g: float, step: Decimal
) -> Mapping[str, float]:
    return {
        f"{other.code} ({other.name})": float(_plan_for(other, fat_g, step).naoh_g)
        for other in others
        if other.code != recipe.code
    }


def _compare(actual: ActualMasses, plan: ScaledBatch) -> Iterator[WeighLine]:
    weighed: dict[str, float] = {}
    for portion in actual.fats:
        weighed[portion.fat] = weighed.get(portion.fat, 0.0) + portion.mass_g
    wanted = {line.ingredient: float(line.mass_g) for line in plan.fats}
    for key in dict.fromkeys((*wanted, *weighed)):
        fat = all_fats().get(key)
        name = fat.trade_name if fat else key
        yield WeighLine(
            key=key, name=name, actual_g=weighed.get(key, 0.0), planned_g=wanted.get(key, 0.0)
        )
    for key, name, mass, planned in (
        ("naoh", "NaOH", actual.naoh_g, plan.naoh_g),
        ("koh", "KOH", actual.koh_g, plan.koh_g),
        ("water", "Water", actual.water_g, plan.water_g),
    ):
        yield WeighLine(key=key, name=name, actual_g=mass, planned_g=float(planned))


def _difference(line: WeighLine, step: Decimal) -> str | None:
    gap = line.actual_g - line.planned_g
    small = abs(gap) <= NOTABLE_STEPS * float(step)
    if small or abs(gap) * 100.0 <= NOTABLE_PERCENT * line.planned_g:
        return None
    text = f"{line.name}: {mass_words(line.actual_g)} weighed, {mass_words(line.planned_g)} planned"
    if line.planned_g > 0.0:
        text += f" ({100.0 * gap / line.planned_g:+.1f} %)"
    return text
