"""100,000 recipe evaluations, as a ratio to plain numpy doing the same sums.

Run: python tests/bench/bench_recipes.py [COUNT]

One evaluation works out the lye for a superfat, the superfat interval of the weighed lye, and the
verdict. The baselines do the same sums in the same run: numpy on one recipe at a time, as a caller
that judges one pour would, and numpy on all recipes at once, the least this machine can do.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable
from decimal import Decimal

import numpy as np

from soapstock.chemistry.fats import all_fats
from soapstock.chemistry.lye import (
    FatPortion,
    Lye,
    alkali_needed_g,
    default_assay,
    judge_superfat,
    superfat_percent,
)
from soapstock.chemistry.molar import KOH, NAOH
from soapstock.recipes.recipe import LyeSpec, Recipe, RecipeFat
from soapstock.recipes.scaling import Target, scale
from soapstock.recipes.water import WaterRule

FATS_EACH = 4
FULL = ("lard", "olive", "coconut", "shea")
SUPERFAT = 5.0
NAOH_ASSAY, KOH_ASSAY = default_assay("naoh", 98.0), default_assay("koh", 90.0)
Blend = list[tuple[str, float]]


def blends(count: int) -> list[Blend]:
    """Random blends of four fats; fixed seed."""
    chance = random.Random(1)
    keys = sorted(all_fats())
    return [
        [(key, chance.uniform(50, 900)) for key in chance.sample(keys, FATS_EACH)]
        for _ in range(count)
    ]


def by_soapstock(recipes: list[Blend]) -> list[float]:
    """Lowest superfat of each recipe by the program's own functions."""
    fats, found = all_fats(), []
    for blend in recipes:
        portions = [FatPortion(fat=key, mass_g=mass, sv=fats[key].sv) for key, mass in blend]
        naoh, _ = alkali_needed_g(
            portions, SUPERFAT, naoh_assay_percent=98.0, koh_assay_percent=90.0
        )
        lye = Lye(naoh_g=round(naoh), naoh_assay_percent=NAOH_ASSAY, koh_assay_percent=KOH_ASSAY)
        superfat = superfat_percent(portions, lye)
        judge_superfat(superfat)
        found.append(superfat.low)
    return found


def _table(recipes: list[Blend]) -> tuple[np.ndarray, np.ndarray]:
    fats = all_fats()
    masses = np.array([[mass for _, mass in blend] for blend in recipes])
    svs = np.array(
        [[[fats[k].sv.low, fats[k].sv.nominal, fats[k].sv.high] for k, _ in b] for b in recipes]
    )
    return masses, svs


def numpy_sums(masses: np.ndarray, svs: np.ndarray) -> np.ndarray:
    """The same sums on arrays: masses (..., fats), svs (..., fats, 3)."""
    demand = (masses[..., None] * svs).sum(axis=-2) / 1000 / KOH
    naoh = np.round(demand[..., 1] * (1 - SUPERFAT / 100) * NAOH / 0.98)
    assay = np.array([NAOH_ASSAY.high, NAOH_ASSAY.nominal, NAOH_ASSAY.low]) / 100
    superfat = 100 * (1 - naoh[..., None] * assay / NAOH / demand)
    np.select([superfat[..., 1] < 0, superfat[..., 0] < 0], [2, 1], 0)
    return superfat[..., 0]


def timed(work: Callable[[], object]) -> float:
    """Seconds of one run."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main() -> None:
    """Print the ratios."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    recipes = blends(count)
    masses, svs = _table(recipes)
    ours = np.array(by_soapstock(recipes))
    if not np.allclose(ours, numpy_sums(masses, svs), atol=1e-9):
        raise SystemExit("the two do not agree: the ratio would mean nothing")
    own = timed(lambda: by_soapstock(recipes))
    single = timed(lambda: [numpy_sums(m, s) for m, s in zip(masses, svs, strict=True)])
    whole = timed(lambda: numpy_sums(masses, svs))
    print(f"{count} recipe evaluations of {FATS_EACH} fats")  # noqa: T201
    print(f"soapstock            {own:8.3f} s  {own / count * 1e6:8.1f} us each")  # noqa: T201
    print(f"numpy, one at a time {single:8.3f} s  ratio {own / single:6.2f}")  # noqa: T201
    print(f"numpy, all at once   {whole:8.3f} s  ratio {own / whole:6.1f}")  # noqa: T201
    some = max(count // 100, 1)
    full = timed(lambda: _scale(some)) / some
    print(f"whole scaling with study and notes: {full * 1e6:.0f} us each")  # noqa: T201


def _scale(count: int) -> None:
    recipe = Recipe(
        code="AB",
        name="x",
        superfat_percent=SUPERFAT,
        lye=LyeSpec(naoh_assay_percent=98.0),
        fats=tuple(RecipeFat(fat=key, share_percent=25.0) for key in FULL),
        water=WaterRule(kind="per_lye", value=2.0),
    )
    for grams in range(1000, 1000 + count):
        scale(recipe, Target(total_fat_g=Decimal(grams)))


if __name__ == "__main__":
    main()
