"""At the pot: the superfat still reachable, and what mends a mass that is off."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.recipes.at_pot import (
    PotSoFar,
    is_off,
    pot_mends,
    still_reachable,
    superfat_of,
)
from soapstock.recipes.recipe import parse_recipe
from soapstock.recipes.scaling import scale
from soapstock.recipes.target import Target
from soapstock.recipes.weighing import planned_weighings

RECIPE = parse_recipe(
    """
code = "TST"
name = "Test"
superfat_percent = 6
water = "2 per lye"

[[fats]]
fat = "beef-tallow"
share_percent = 50.0

[[fats]]
fat = "olive"
share_percent = 30.0

[[fats]]
fat = "coconut"
share_percent = 20.0
""",
    "test",
)
PLAN = {
    w.ingredient: w.mass_g
    for w in planned_weighings(
        scale(RECIPE, Target(total_fat_g=Decimal(1000)), scale_step_g=Decimal(1))
    )
}


def pot(**weighed: int) -> PotSoFar:
    """The pot with these lines weighed, g; `_` for a hyphen."""
    masses = {k.replace("_", "-"): Decimal(v) for k, v in weighed.items()}
    return PotSoFar(recipe=RECIPE, planned=PLAN, weighed=masses, scale_step_g=Decimal(1))


def test_with_nothing_weighed_the_plan_is_reached_and_much_beside_it() -> None:
    """The plan's own superfat lies inside what may be chosen."""
    reach = still_reachable(pot())
    assert reach.low < reach.as_planned.nominal < reach.high
    assert not reach.lost


def test_each_mass_as_planned_narrows_the_reach_down_to_the_pot_itself() -> None:
    """When all is weighed nothing is left to choose."""
    weighed: dict[str, Decimal] = {}
    before = still_reachable(pot())
    for key, mass in PLAN.items():
        weighed[key] = mass
        now = still_reachable(
            PotSoFar(recipe=RECIPE, planned=PLAN, weighed=weighed, scale_step_g=Decimal(1))
        )
        assert before.low - 1e-9 <= now.low <= now.high <= before.high + 1e-9
        before = now
    assert before.low == before.high == pytest.approx(before.as_planned.nominal)


@given(share=st.fractions(min_value="3/4", max_value="5/4"), lye=st.integers(100, 180))
def test_no_honest_choice_leaves_the_reach(share: object, lye: int) -> None:
    """Whatever the two open fats are within a quarter of their plan, the superfat lies within."""
    here = pot(naoh=lye, beef_tallow=500)
    reach = still_reachable(here)
    chosen = {k: PLAN[k] * Decimal(repr(float(share))) for k in ("olive", "coconut")}  # type: ignore[arg-type]
    assert reach.low - 1e-6 <= superfat_of(here, here.whole(chosen)).nominal <= reach.high + 1e-6


def test_lye_that_no_fat_can_take_is_lost() -> None:
    """Tallow for 1000 g of fats and twice the lye: a quarter more of the rest does not take it."""
    assert still_reachable(pot(naoh=280, beef_tallow=500)).lost


def test_lye_run_over_asks_so_much_more_of_each() -> None:
    """14 % too much NaOH after the tallow: all else in the same proportion, superfat unchanged."""
    lye = int(PLAN["naoh"] * Decimal("1.14"))
    here = pot(beef_tallow=500, naoh=lye)
    mend = pot_mends(here, "naoh")[0]
    factor = Decimal(lye) / PLAN["naoh"]
    assert mend.planned["beef-tallow"] == pytest.approx(500 * factor, abs=1)
    more = mend.planned["beef-tallow"] - 500
    assert f"{more} g more Beef tallow" in mend.words
    assert superfat_of(here, mend.planned).nominal == pytest.approx(
        superfat_of(here, PLAN).nominal, abs=0.3
    )


def test_an_oil_that_runs_out_with_the_lye_mixed() -> None:
    """Coconut 100 g of 200 g: only so much of the mixed lye, or so much more of another fat.

    The lye for 500 g tallow, 300 g olive and 100 g coconut, reckoned here by hand from the tables'
    saponification values, and the tallow that takes what 100 g of coconut would have taken.
    """
    from soapstock.chemistry.fats import get_fat

    here = pot(
        beef_tallow=500, olive=300, naoh=int(PLAN["naoh"]), water=int(PLAN["water"]), coconut=100
    )
    mends = pot_mends(here, "coconut")
    sv = {k: get_fat(k).sv.nominal for k in ("beef-tallow", "olive", "coconut")}
    plan = 500 * sv["beef-tallow"] + 300 * sv["olive"] + 200 * sv["coconut"]
    share = (plan - 100 * sv["coconut"]) / plan
    jug = PLAN["naoh"] + PLAN["water"]
    only = next(m for m in mends if "of lye solution mixed" in m.words)
    used = only.planned["naoh"] + only.planned["water"]
    assert float(used) == pytest.approx(float(jug) * share, rel=0.01)
    tallow = next(m for m in mends if "more Beef tallow" in m.words)
    more = float(tallow.planned["beef-tallow"]) - 500
    assert more == pytest.approx(100 * sv["coconut"] / sv["beef-tallow"], rel=0.05)


def test_a_mass_on_its_plan_needs_no_mend() -> None:
    """Nor does water, which takes no part in the lye's sum."""
    assert pot_mends(pot(olive=301), "olive") == ()
    assert pot_mends(pot(water=999), "water") == ()
    assert not is_off(pot(olive=301), "olive")


@given(
    key=st.sampled_from(["beef-tallow", "olive", "coconut", "naoh"]),
    percent=st.integers(50, 160),
    done=st.sets(st.sampled_from(["beef-tallow", "olive", "coconut", "naoh", "water"])),
)
def test_no_mend_brings_the_pot_nearer_to_lye_than_its_plan(
    key: str, percent: int, done: set[str]
) -> None:
    """Whatever is off, and whatever else is weighed: checked on the pot that comes of it."""
    weighed = {k: PLAN[k] for k in PLAN if k in done} | {key: PLAN[key] * percent / 100}
    here = PotSoFar(recipe=RECIPE, planned=PLAN, weighed=weighed, scale_step_g=Decimal(1))
    plan_low = superfat_of(here, PLAN).low
    for mend in pot_mends(here, key):
        stays = [k for k in weighed if k not in ("naoh", "water")]
        in_pot = {k: max(weighed[k], mend.planned[k]) for k in stays}
        assert superfat_of(here, {**mend.planned, **in_pot}).low >= min(plan_low, 0.0) - 0.06
