"""What was really weighed: its superfat, verdict, the likeliest slip, and its composition."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from soapstock.chemistry.composition import Composition, Part, composition_at_pour
from soapstock.chemistry.fats import all_fats
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.lye import FatPortion, Verdict, judge_superfat, superfat_percent
from soapstock.errors import BadInput
from soapstock.recipes.recipe import Recipe
from soapstock.recipes.scaling import ScaledBatch, Target, scale, with_solution
from soapstock.recipes.written import lye_of
from soapstock.units import GRAMS_PER, format_g

NOTABLE_PERCENT = 1.0
NOTABLE_STEPS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class ActualMasses:
    """What went into the pot, g.

    Attributes:
        fats: one portion per lot used.
        additions: the measured ones only.
    """

    fats: tuple[FatPortion, ...]
    naoh_g: float
    koh_g: float
    water_g: float
    additions: tuple[Part, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PourJudgement:
    """What the as-weighed masses mean.

    Attributes:
        slip: the likeliest slip in words, or None.
        differences: each notable difference from the plan, in words.
    """

    superfat: Interval
    verdict: Verdict
    slip: str | None
    differences: tuple[str, ...]


def judge_pour(
    recipe: Recipe,
    actual: ActualMasses,
    planned: ScaledBatch | None,
    *,
    scale_step_g: Decimal,
) -> PourJudgement:
    """Judge the masses as weighed, before anything is written down.

    Args:
        recipe: the recipe poured.
        actual: what was weighed.
        planned: the scaled batch it was weighed by; None compares with the recipe scaled to the
            fat that was weighed.
        scale_step_g: the scale's step, g.

    Raises:
        BadInput: no fat or no lye was weighed.
    """
    fat_g = sum(portion.mass_g for portion in actual.fats)
    if fat_g <= 0.0:
        raise BadInput("no fat was weighed", hint="give the mass of each fat")
    alkali_g = actual.naoh_g + actual.koh_g
    if alkali_g <= 0.0:
        raise BadInput("no lye was weighed", hint="give the mass of NaOH or KOH")
    superfat = superfat_percent(actual.fats, lye_of(recipe, actual.naoh_g, actual.koh_g))
    concentration = 100.0 * alkali_g / (alkali_g + actual.water_g)
    verdict = with_solution(judge_superfat(superfat), concentration, has_koh=actual.koh_g > 0.0)
    plan = planned or _plan_for(recipe, fat_g, scale_step_g)
    lines = tuple(_compare(actual, plan))
    differences = tuple(
        text for line in lines if (text := _difference(line, scale_step_g)) is not None
    )
    slip = _likeliest_slip(lines) if verdict.word != "safe" or differences else None
    return PourJudgement(superfat=superfat, verdict=verdict, slip=slip, differences=differences)


def composition_of(recipe: Recipe, actual: ActualMasses) -> Composition:
    """Composition at pour of what was weighed, at the recipe's assay."""
    return composition_at_pour(
        actual.fats, lye_of(recipe, actual.naoh_g, actual.koh_g), actual.water_g, actual.additions
    )


def _plan_for(recipe: Recipe, fat_g: float, step: Decimal) -> ScaledBatch:
    return scale(recipe, Target(total_fat_g=Decimal(repr(fat_g))), scale_step_g=step)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    key: str
    name: str
    actual_g: float
    planned_g: float


def _compare(actual: ActualMasses, plan: ScaledBatch) -> Iterator[_Line]:
    weighed: dict[str, float] = {}
    for portion in actual.fats:
        weighed[portion.fat] = weighed.get(portion.fat, 0.0) + portion.mass_g
    wanted = {line.ingredient: float(line.mass_g) for line in plan.fats}
    for key in dict.fromkeys((*wanted, *weighed)):
        fat = all_fats().get(key)
        name = fat.trade_name if fat else key
        yield _Line(
            key=key, name=name, actual_g=weighed.get(key, 0.0), planned_g=wanted.get(key, 0.0)
        )
    for key, name, mass, planned in (
        ("naoh", "NaOH", actual.naoh_g, plan.naoh_g),
        ("koh", "KOH", actual.koh_g, plan.koh_g),
        ("water", "Water", actual.water_g, plan.water_g),
    ):
        yield _Line(key=key, name=name, actual_g=mass, planned_g=float(planned))


def _difference(line: _Line, step: Decimal) -> str | None:
    gap = line.actual_g - line.planned_g
    small = abs(gap) <= NOTABLE_STEPS * float(step)
    if small or abs(gap) * 100.0 <= NOTABLE_PERCENT * line.planned_g:
        return None
    text = f"{line.name}: {format_g(line.actual_g)} weighed, {format_g(line.planned_g)} planned"
    if line.planned_g > 0.0:
        text += f" ({100.0 * gap / line.planned_g:+.1f} %)"
    return text


# A slip is recognised when undoing it brings the mass back this near to the plan.
NEAR_PERCENT = 2.0
OUNCE_G = float(GRAMS_PER["oz"])
POUND_G = float(GRAMS_PER["lb"])
_SLIPS: tuple[tuple[str, Callable[[float], float]], ...] = (
    ("ounces read as grams", lambda planned: planned / OUNCE_G),
    ("grams read as ounces", lambda planned: planned * OUNCE_G),
    ("pounds read as grams", lambda planned: planned / POUND_G),
    ("a decimal point slipped one place up", lambda planned: planned * 10.0),
    ("a decimal point slipped one place down", lambda planned: planned / 10.0),
    ("weighed twice", lambda planned: planned * 2.0),
    ("half left out", lambda planned: planned / 2.0),
)


def _near(mass_g: float, expected_g: float) -> bool:
    return expected_g > 0.0 and abs(mass_g - expected_g) * 100.0 <= NEAR_PERCENT * expected_g


def _swapped_digits(mass_g: float, planned_g: float) -> bool:
    shown, wanted = f"{mass_g:.0f}", f"{planned_g:.0f}"
    if shown == wanted or len(shown) != len(wanted):
        return False
    pairs = range(len(wanted) - 1)
    return any(wanted[:i] + wanted[i + 1] + wanted[i] + wanted[i + 2 :] == shown for i in pairs)


def _likeliest_slip(lines: Sequence[_Line]) -> str | None:
    by_key = {line.key: line for line in lines}
    naoh, water, koh = by_key["naoh"], by_key["water"], by_key["koh"]
    if _near(naoh.actual_g, water.planned_g) and _near(water.actual_g, naoh.planned_g):
        return "NaOH and water were swapped"
    if naoh.actual_g == 0.0 and koh.planned_g == 0.0 and _near(koh.actual_g, naoh.planned_g):
        return "KOH was weighed instead of NaOH"
    off = [line for line in lines if not _near(line.actual_g, line.planned_g)]
    for line in sorted(off, key=_gap, reverse=True):
        slip = _slip_of(line)
        if slip is not None:
            return slip
    return None


def _gap(line: _Line) -> float:
    if line.planned_g == 0.0:
        return line.actual_g
    return abs(line.actual_g - line.planned_g) / line.planned_g


def _slip_of(line: _Line) -> str | None:
    if line.planned_g == 0.0:
        return f"{line.name}: not in the recipe" if line.actual_g > 0.0 else None
    if line.actual_g == 0.0:
        return f"{line.name}: left out"
    for words, slipped in _SLIPS:
        if _near(line.actual_g, slipped(line.planned_g)):
            return f"{line.name}: {words}"
    if _swapped_digits(line.actual_g, line.planned_g):
        return f"{line.name}: two digits swapped ({line.actual_g:.0f} for {line.planned_g:.0f})"
    return None
