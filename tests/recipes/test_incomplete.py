"""What old pages can have meant: against scipy's linear programs, exact fractions, and the truth.

The pages are invented; saponification values are those of the tables.
"""

from __future__ import annotations

import random
from fractions import Fraction

import pytest
from scipy.optimize import linprog

from soapstock.chemistry import molar
from soapstock.chemistry.fats import get_fat
from soapstock.chemistry.lye import default_assay
from soapstock.recipes.incomplete import (
    OTHER,
    Noted,
    possible_fats,
    question,
    readings,
)
from soapstock.tables import read_toml

FATS = ("beef-tallow", "lard", "coconut", "olive", "castor", "sunflower", "shea", "palm")
PRIOR = read_toml("chemistry/old_notes.toml")
WIDE = [float(x) / 100 for x in PRIOR["superfat_percent"]]
STRONG = [float(x) / 100 for x in PRIOR["strength_percent"]]


def page(chance: random.Random) -> tuple[str, Noted]:
    """An invented page and what its lye figure really meant."""
    fats = [(fat, float(chance.randint(80, 900))) for fat in chance.sample(FATS, 3)]
    demand = sum(
        molar.equivalents(mass, chance.uniform(get_fat(f).sv.low, get_fat(f).sv.high))
        for f, mass in fats
    )
    naoh = demand * (1 - chance.uniform(0.0, 0.12)) * molar.NAOH / 0.98
    strength = chance.uniform(0.27, 0.42)
    meaning = chance.choice(["dry", "dry", "solution", "solution with its water"])
    water = naoh / strength - naoh
    lye, said = (naoh, water) if meaning == "dry" else (naoh + water, water)
    if meaning == "solution" or (meaning == "dry" and chance.random() < 0.3):
        said = None
    noted = [
        (fat, None if n == 0 and chance.random() < 0.15 else m) for n, (fat, m) in enumerate(fats)
    ]
    return meaning, Noted(
        fats=tuple(noted), lye_g=round(lye), water_g=None if said is None else float(round(said))
    )


def test_five_hundred_pages_are_read_right() -> None:
    """Right in 95 % of them; sure and wrong in none, and the truth is never left out."""
    chance = random.Random(18)
    right = 0
    for _ in range(500):
        meaning, noted = page(chance)
        found = readings(noted)
        assert meaning in {r.meaning for r in found}, noted
        right += found[0].meaning == meaning
        if len(found) == 1:
            assert found[0].meaning == meaning
    assert right >= 475, right


def by_program(noted: Noted, meaning: str) -> tuple[float, float] | None:
    """Least and most mass of the missing fat by linear programs, or None where none is possible.

    Variables: mass m of the missing fat, alkali demand of each fat as d, the alkali a.
    """
    lye, water = noted.lye_g, noted.water_g
    dry = {
        "dry": (lye, lye) if not water or STRONG[0] <= lye / (lye + water) <= STRONG[1] else None,
        "solution": (lye * STRONG[0], lye * STRONG[1]) if not water else None,
        "solution with its water": (lye - water, lye - water)
        if water and water < lye and STRONG[0] <= (lye - water) / lye <= STRONG[1]
        else None,
    }[meaning]
    if dry is None:
        return None
    assay = default_assay("naoh", None)
    alkali = (dry[0] * assay.low / 100 / molar.NAOH, dry[1] * assay.high / 100 / molar.NAOH)
    known = [(get_fat(f).sv, m) for f, m in noted.fats if m is not None]
    (lost,) = [get_fat(f).sv for f, m in noted.fats if m is None] or [None]
    bounds = [(molar.equivalents(m, sv.low), molar.equivalents(m, sv.high)) for sv, m in known]
    there = sum(m for _, m in known)
    share = float(PRIOR["most_missing_percent"]) / 100
    # m, d of the missing fat, d of each known one, a
    bounds = [(0, there * share / (1 - share) if lost else 0), (0, None), *bounds, alkali]
    n = len(bounds)
    rows, limits = [], []
    demand = [0.0, 1.0, *[1.0] * len(known), 0.0]
    for sign, superfat in ((1, WIDE[0]), (-1, WIDE[1])):  # a <= D (1 - low); a >= D (1 - high)
        row = [-sign * (1 - superfat) * x for x in demand]
        row[-1] = float(sign)
        rows.append(row)
        limits.append(0.0)
    if lost:
        for sign, sv in ((-1, lost.low), (1, lost.high)):  # d between m times each end
            row = [0.0] * n
            row[0], row[1] = -sign * molar.equivalents(1.0, sv), float(sign)
            rows.append(row)
            limits.append(0.0)
    else:
        bounds[1] = (0, 0)
    ends = []
    for direction in (1, -1):
        aim = [float(direction)] + [0.0] * (n - 1)
        done = linprog(aim, A_ub=rows, b_ub=limits, bounds=bounds, method="highs")
        if done.status == 2:
            return None
        assert done.status == 0
        ends.append(direction * done.fun)
    return ends[0], ends[1]


def test_bounds_are_those_of_a_linear_program() -> None:
    """Possible or not, and the range of a missing mass, as scipy.optimize.linprog finds them."""
    chance = random.Random(7)
    compared = 0
    for _ in range(300):
        _, noted = page(chance)
        found = {r.meaning: r for r in readings(noted) if r.missing != (OTHER,)}
        for meaning in ("dry", "solution", "solution with its water"):
            wanted = by_program(noted, meaning)
            if wanted is None or (noted.missing and wanted[1] <= 0):
                assert meaning not in found, (noted, meaning, wanted)
                continue
            assert meaning in found, (noted, meaning, wanted)
            if noted.missing:
                assert found[meaning].missing_g == pytest.approx(wanted, rel=1e-6, abs=1e-6)
                compared += 1
    assert compared > 40


def test_superfat_of_a_page_in_exact_fractions() -> None:
    """1000 g of tallow and 138 g of dry lye: both ends by exact arithmetic."""
    sv, assay = get_fat("beef-tallow").sv, default_assay("naoh", None)
    (found,) = readings(Noted(fats=(("beef-tallow", 1000.0),), lye_g=138.0, water_g=250.0))
    koh, naoh = Fraction(molar.KOH), Fraction(molar.NAOH)
    low = 1 - Fraction(138) * Fraction(assay.high) / 100 / naoh / (Fraction(sv.low) / koh)
    high = 1 - Fraction(138) * Fraction(assay.low) / 100 / naoh / (Fraction(sv.high) / koh)
    assert found.meaning == "dry"
    assert found.superfat_percent == pytest.approx((float(100 * low), float(100 * high)))


@pytest.mark.parametrize(
    ("noted", "asked"),
    [
        (Noted(fats=()), "Which fats"),
        (Noted(fats=(("olive", 500.0),)), "How much lye"),
        (Noted(fats=(("olive", 500.0),), lye_g=3.0), "Which of the masses"),
        (Noted(fats=(("olive", 500.0), ("coconut", None)), lye_g=100.0), "How much coconut"),
        (Noted(fats=(("olive", 500.0),), lye_g=64.0, water_g=110.0), ""),
        (Noted(fats=(("olive", 500.0),), lye_g=120.0, water_g=200.0), "left out"),
    ],
)
def test_one_question_is_asked(noted: Noted, asked: str) -> None:
    """The one that settles most, or none."""
    told = question(noted, readings(noted))
    assert asked in told
    assert bool(told) == bool(asked)


def test_what_a_mass_without_a_name_can_have_been() -> None:
    """Every fat with which some superfat holds, and no other."""
    noted = Noted(fats=(("olive", 500.0),), lye_g=133.0, water_g=240.0)
    found = possible_fats(noted, 300.0)
    assert "coconut" in found
    assert "beeswax" not in found
