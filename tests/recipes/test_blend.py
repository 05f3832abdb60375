"""Blends from what is in store."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from soapstock.chemistry.fats import get_fat
from soapstock.chemistry.profiles import acids, profiles_of
from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.recipes.blend import STAY_PULL, lye_weight, nearest_blend, substitute

RECIPE = {"beef-tallow": 600.0, "olive": 300.0, "castor": 100.0}
FATS = ["beef-tallow", "mutton-tallow", "lard", "olive", "sunflower", "coconut", "castor", "shea"]


@given(
    masses=st.dictionaries(st.sampled_from(FATS), st.floats(10, 5000), min_size=1, max_size=5),
    into=st.sampled_from(FATS),
    share=st.floats(0.01, 1.0),
)
def test_substitution_keeps_the_lye_demand(
    masses: dict[str, float], into: str, share: float
) -> None:
    """Whatever is swapped, the lye stays."""
    out = next(iter(masses))
    blend = substitute(masses, out, into, share=share)
    assert lye_weight(blend.masses_g) == pytest.approx(lye_weight(masses), rel=1e-12)


def test_a_swap_of_coconut_for_olive_takes_more_olive() -> None:
    """100 g at 256.5 take the lye of 135 g at 190."""
    blend = substitute({"coconut": 100.0}, "coconut", "olive")
    assert blend.masses_g["olive"] == pytest.approx(100 * 256.5 / 190)


@pytest.mark.parametrize(
    ("out", "into", "share", "error"),
    [("lard", "olive", 1.0, BadInput), ("olive", "oliv", 1.0, NotFound),
     ("olive", "lard", 0.0, BadInput), ("olive", "lard", 1.5, BadInput)],
)  # fmt: skip
def test_impossible_swaps_are_refused(
    out: str, into: str, share: float, error: type[Exception]
) -> None:
    """A fat not there, a fat unknown, a share of nothing."""
    with pytest.raises(error):
        substitute(RECIPE, out, into, share=share)


def test_a_full_store_gives_the_recipe_itself() -> None:
    """Nothing needs to change."""
    blend = nearest_blend(RECIPE, dict.fromkeys(FATS, 5000.0))
    for fat, mass in RECIPE.items():
        assert blend.masses_g[fat] == pytest.approx(mass, abs=1.0)
    assert blend.acid_distance_percent == pytest.approx(0.0, abs=0.2)


@settings(max_examples=15, deadline=None)
@given(st.fixed_dictionaries({fat: st.floats(250, 900) for fat in FATS}))
def test_the_nearest_blend_keeps_the_lye_and_the_store(store: dict[str, float]) -> None:
    """Never more than there is, always the same lye demand."""
    blend = nearest_blend(RECIPE, store)
    assert lye_weight(blend.masses_g) == pytest.approx(lye_weight(RECIPE), rel=1e-6)
    for fat, mass in blend.masses_g.items():
        assert mass <= store[fat] + 1e-6


def test_the_nearest_blend_agrees_with_an_independent_solver() -> None:
    """The same problem given to SciPy's SLSQP, another method of another library."""
    store = {"mutton-tallow": 400.0, "lard": 500.0, "sunflower": 600.0, "castor": 60.0,
             "olive": 100.0}  # fmt: skip
    names, usable, total = list(acids()), list(store), sum(RECIPE.values())

    def column(fat: str) -> list[float]:
        fractions = profiles_of(fat)[0].fractions()
        return [fractions.get(name, 0.0) for name in names]

    goal = sum(mass / total * np.array(column(fat)) for fat, mass in RECIPE.items())
    matrix = np.array([column(fat) for fat in usable]).T
    start = np.array([RECIPE.get(fat, 0.0) / total for fat in usable])
    weight = np.array([get_fat(fat).sv.nominal / 1000 for fat in usable])
    solved = minimize(
        lambda x: 1e4 * (((matrix @ x - goal) ** 2).sum() + STAY_PULL * ((x - start) ** 2).sum()),
        np.array(list(store.values())) / total / 2,
        bounds=[(0.0, mass / total) for mass in store.values()],
        constraints={"type": "eq", "fun": lambda x: weight @ x - lye_weight(RECIPE) / total},
        method="SLSQP",
        options={"maxiter": 500, "ftol": 1e-12},
    )
    blend = nearest_blend(RECIPE, store)
    for fat, mass in zip(usable, solved.x * total, strict=True):
        assert blend.masses_g.get(fat, 0.0) == pytest.approx(mass, abs=3.0)


def test_a_least_mass_is_kept() -> None:
    """An old tub of mutton tallow must go."""
    store = dict.fromkeys(FATS, 2000.0)
    blend = nearest_blend(RECIPE, store, least_g={"mutton-tallow": 250.0})
    assert blend.masses_g["mutton-tallow"] == pytest.approx(250.0, abs=1.0)
    assert lye_weight(blend.masses_g) == pytest.approx(lye_weight(RECIPE), rel=1e-6)


@pytest.mark.parametrize("least", [{"lard": 3000.0}, {"beeswax": 1.0}])
def test_an_impossible_least_mass_is_refused(least: dict[str, float]) -> None:
    """More than there is, or a fat that is not there."""
    with pytest.raises(BadInput, match="at least"):
        nearest_blend(RECIPE, dict.fromkeys(FATS, 2000.0), least_g=least)


def test_least_masses_beyond_the_recipe_are_refused() -> None:
    """They would take more lye than the whole recipe."""
    with pytest.raises(RuleBroken, match="more lye"):
        nearest_blend(RECIPE, dict.fromkeys(FATS, 2000.0), least_g={"lard": 1500.0})


def test_too_little_in_store_is_refused() -> None:
    """Says how far the fats would go."""
    with pytest.raises(RuleBroken, match=r"take lye for \d+ %"):
        nearest_blend(RECIPE, {"olive": 100.0})


def test_a_fat_without_profile_cannot_be_stood_in_for() -> None:
    """Beeswax: swap by name."""
    with pytest.raises(BadInput, match="beeswax"):
        nearest_blend({"olive": 100.0, "beeswax": 5.0}, {"olive": 200.0})


def test_the_declaration_order_is_shown_before_and_after() -> None:
    """A label must follow the new order."""
    blend = substitute(RECIPE, "beef-tallow", "olive", share=0.6)
    assert blend.order_before[0] == "beef-tallow"
    assert blend.order_after[0] == "olive"
