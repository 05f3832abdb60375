"""Slips are caught and named; honest pours are left alone.

The simulated pours are invented data with a fixed seed.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from decimal import Decimal

import pytest

from soapstock.chemistry import molar
from soapstock.chemistry.fats import get_fat
from soapstock.chemistry.lye import FatPortion
from soapstock.recipes.pour import ActualMasses, judge_pour
from soapstock.recipes.recipe import LyeSpec, Recipe, RecipeFat
from soapstock.recipes.scaling import ScaledBatch, Target, scale
from soapstock.recipes.slips import WeighLine, likeliest_slip
from soapstock.recipes.water import WaterRule

STEP = Decimal(1)
BLENDS = [
    {"beef-tallow": 60.0, "olive": 40.0},
    {"mutton-tallow": 50.0, "coconut": 25.0, "olive": 20.0, "castor": 5.0},
    {"lard": 100.0},
    {"olive": 70.0, "coconut": 20.0, "shea": 10.0},
    {"beef-tallow": 40.0, "rapeseed": 30.0, "palm": 30.0},
]
Masses = dict[str, float]


def recipes() -> list[Recipe]:
    """Each blend at the superfats makers use."""
    return [
        Recipe(
            code="AB",
            name="x",
            superfat_percent=superfat,
            fats=tuple(RecipeFat(fat=key, share_percent=share) for key, share in blend.items()),
            lye=LyeSpec(naoh_assay_percent=98.0),
            water=WaterRule(kind="per_lye", value=2.0),
        )
        for blend in BLENDS
        for superfat in (3.0, 5.0, 7.0)
    ]


def masses_of(plan: ScaledBatch) -> Masses:
    """The plan as masses by key."""
    fats = {line.ingredient: float(line.mass_g) for line in plan.fats}
    return fats | {"naoh": float(plan.naoh_g), "water": float(plan.water_g)}


def actual_of(masses: Masses, plan: ScaledBatch) -> ActualMasses:
    """Weighed masses for the judge."""
    fats = tuple(
        FatPortion(
            fat=line.ingredient, mass_g=masses[line.ingredient], sv=get_fat(line.ingredient).sv
        )
        for line in plan.fats
    )
    return ActualMasses(fats=fats, naoh_g=masses["naoh"], koh_g=0.0, water_g=masses["water"])


def true_superfat(masses: Masses, plan: ScaledBatch, chance: random.Random) -> float:
    """Superfat with each fat's SV and the assay somewhere in their ranges."""
    demand = 0.0
    for line in plan.fats:
        sv = get_fat(line.ingredient).sv
        drawn = chance.uniform(sv.low, sv.high)
        demand += molar.equivalents(masses[line.ingredient], drawn)
    alkali = masses["naoh"] * chance.uniform(0.97, 0.99) / molar.NAOH
    return 100.0 * (1.0 - alkali / demand)


def _scaled(key: str, factor: float) -> Callable[[Masses, random.Random], None]:
    def slip(masses: Masses, chance: random.Random) -> None:
        name = key if key in masses else chance.choice([k for k in masses if k not in FLUIDS])
        masses[name] *= factor

    return slip


def _shifted(key: str, low: float, high: float) -> Callable[[Masses, random.Random], None]:
    def slip(masses: Masses, chance: random.Random) -> None:
        name = key if key in masses else chance.choice([k for k in masses if k not in FLUIDS])
        masses[name] = max(0.0, masses[name] + chance.uniform(low, high))

    return slip


def _swap(masses: Masses, _: random.Random) -> None:
    masses["naoh"], masses["water"] = masses["water"], masses["naoh"]


def _lye_of_other(masses: Masses, chance: random.Random) -> None:
    masses["naoh"] *= chance.uniform(1.05, 1.4)


def _digits(masses: Masses, chance: random.Random) -> None:
    text = f"{masses['naoh']:.0f}"
    place = chance.randrange(len(text) - 1)
    masses["naoh"] = float(text[:place] + text[place + 1] + text[place] + text[place + 2 :])


FLUIDS = ("naoh", "water")
SLIPS: dict[str, Callable[[Masses, random.Random], None]] = {
    "lye twice": _scaled("naoh", 2.0),
    "lye times ten": _scaled("naoh", 10.0),
    "lye in ounces for grams": _scaled("naoh", 28.35),
    "a fat left out": _scaled("fat", 0.0),
    "a fat halved": _scaled("fat", 0.5),
    "a fat in grams for ounces": _scaled("fat", 1 / 28.35),
    "a fat's decimal point": _scaled("fat", 0.1),
    "tare on the lye": _shifted("naoh", 20, 200),
    "tare off a fat twice": _shifted("fat", -400, -50),
    "lye and water swapped": _swap,
    "lye of another recipe": _lye_of_other,
    "two digits swapped": _digits,
}


def test_nearly_all_slips_that_would_burn_are_refused() -> None:
    """At least 95 % of the simulated slips whose true superfat is below zero are refused."""
    chance = random.Random(20261125)
    burning = refused = 0
    for recipe in recipes():
        for fat_g in (600, 1500, 6000):
            plan = scale(recipe, Target(total_fat_g=Decimal(fat_g)), scale_step_g=STEP)
            for slip in SLIPS.values():
                masses = masses_of(plan)
                slip(masses, chance)
                if sum(v for k, v in masses.items() if k not in FLUIDS) < 10:
                    continue
                if true_superfat(masses, plan, chance) >= 0.0:
                    continue
                burning += 1
                found = judge_pour(recipe, actual_of(masses, plan), plan, scale_step_g=STEP)
                refused += found.verdict.word == "refuse"
    assert burning > 250
    assert refused / burning >= 0.95


def test_hardly_any_honest_pour_is_refused() -> None:
    """Fewer than 1 % of pours with ordinary weighing errors and fats poured by hand."""
    chance = random.Random(4)
    poured = refused = 0
    for recipe in recipes():
        for fat_g in (600, 1500, 6000):
            plan = scale(recipe, Target(total_fat_g=Decimal(fat_g)), scale_step_g=STEP)
            for _ in range(12):
                masses = {
                    key: mass * (1 + chance.gauss(0, 0.008 if key != "naoh" else 0.002))
                    + chance.choice((-1.0, 0.0, 1.0))
                    for key, mass in masses_of(plan).items()
                }
                found = judge_pour(recipe, actual_of(masses, plan), plan, scale_step_g=STEP)
                poured += 1
                refused += found.verdict.word == "refuse"
    assert poured > 500
    assert refused / poured < 0.01


def lines(**weighed: float) -> list[WeighLine]:
    """1200 g tallow, 800 g olive, 268 g NaOH, 536 g water planned."""
    planned = {"tallow": 1200.0, "olive": 800.0, "naoh": 268.0, "koh": 0.0, "water": 536.0}
    return [
        WeighLine(key=key, name=key, actual_g=weighed.get(key, mass), planned_g=mass)
        for key, mass in planned.items()
    ]


@pytest.mark.parametrize(
    ("weighed", "says"),
    [
        ({"tallow": 800.0, "olive": 1200.0}, "tallow and olive were swapped"),
        ({"naoh": 322.0, "water": 643.0}, "made for 1.20 times these fats"),
        ({"naoh": 300.0}, "the lye of EBB"),
        ({"olive": 1115.0}, "tare was left in"),
        ({"olive": 485.0}, "tare was taken off twice"),
        ({"naoh": 368.0}, "one digit was misread (368 for 268), or the bowl's tare was left in"),
        ({"naoh": 248.0}, "naoh: 20 g less than planned"),
        ({"koh": 30.0}, "koh: not in the recipe"),
    ],
)
def test_the_likeliest_slip_is_named(weighed: dict[str, float], says: str) -> None:
    """One slip, one sentence."""
    found = likeliest_slip(lines(**weighed), {"EBB": 301.0})
    assert found is not None
    assert says in found


def test_nothing_is_named_when_all_is_near_the_plan() -> None:
    """2 % is no slip."""
    assert likeliest_slip(lines(olive=810.0)) is None
