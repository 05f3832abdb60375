"""What finished batches teach the next."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from soapstock.cure.batch import BatchStart, WeighIn
from soapstock.cure.drying import SECONDS_PER_DAY, remaining
from soapstock.cure.prior import WEAK_PRIOR
from soapstock.cure.teachers import Finished, Kind, Teachers, is_finished, season_of, skin_share
from soapstock.recipes.bars import Brick

SHAPE = Brick(length_mm=85, width_mm=58, height_mm=26)
DAYS = (7.0, 14.0, 21.0, 28.0, 35.0)
Grow = Callable[..., Finished]


def grown(
    lot: str, ln_d: float, end: float, kind: Kind, days: tuple[float, ...] = DAYS, seed: int = 0
) -> Finished:
    """A batch that dries by Fick's law with a given ln D and end percent, weighed by ten bars."""
    rng = np.random.default_rng([seed, *lot.encode()])
    start = BatchStart(
        mass_per_bar_g=130.0, day=1.0, water_fraction=0.2, shape=SHAPE, scale_step_g=1.0, bars=10
    )
    last = 130.0 * 0.8 / (1.0 - end / 100.0)
    elapsed = np.array(days) - 1.0
    mass = last + (130.0 - last) * remaining(SHAPE, math.exp(ln_d) * elapsed * SECONDS_PER_DAY)
    noisy = 10.0 * mass * (1.0 + rng.normal(0.0, 0.0005, len(days)))
    weigh_ins = tuple(
        WeighIn(day=day, mass_g=round(m), bars=10)
        for day, m in zip(days, noisy.tolist(), strict=True)
    )
    return Finished(lot=lot, kind=kind, start=start, weigh_ins=weigh_ins)


def shop(rng: np.random.Generator, recipe: str, count: int, ln_d: float, end: float) -> list:
    """Batches of a recipe about a ln D and an end percent."""
    return [
        grown(
            f"{recipe}{i}",
            ln_d + rng.normal(0, 0.1),
            end + rng.normal(0, 0.5),
            Kind(recipe=recipe, room="rack", season="Sep-Nov"),
        )
        for i in range(count)
    ]


def test_without_enough_finished_batches_the_weak_prior_stands() -> None:
    """Two finished batches, and any number of unfinished, change nothing."""
    rng = np.random.default_rng(1)
    young = grown("Y", -24.0, 10.0, Kind(recipe="DRF"), days=(7.0, 14.0))
    assert not is_finished(young.start, young.weigh_ins)
    taught = Teachers([*shop(rng, "DRF", 2, -24.5, 12.0), *[young] * 5])
    assert taught.prior(Kind(recipe="DRF")) == WEAK_PRIOR


def test_a_recipe_with_history_is_expected_where_its_batches_were() -> None:
    """Eight batches about ln D -24.8 and 13 % pull the prior there and narrow it."""
    taught = Teachers(shop(np.random.default_rng(2), "DRF", 8, -24.8, 13.0))
    prior = taught.prior(Kind(recipe="DRF", room="rack", season="Sep-Nov"))
    assert prior.ln_d_mean == pytest.approx(-24.8, abs=0.15)
    assert prior.end_percent_mean == pytest.approx(13.0, abs=1.0)
    assert prior.ln_d_sd < 0.25
    assert prior.batches == 8
    assert "8 of this recipe" in prior.basis


def test_a_new_recipe_borrows_from_the_others_but_trusts_them_less() -> None:
    """A recipe never poured lies between the weak prior and its room's batches, and is wider."""
    taught = Teachers(shop(np.random.default_rng(3), "DRF", 8, -24.9, 13.0))
    own = taught.prior(Kind(recipe="DRF", room="rack", season="Sep-Nov"))
    new = taught.prior(Kind(recipe="NEW", room="rack", season="Sep-Nov"))
    elsewhere = taught.prior(Kind(recipe="NEW", room="attic", season="Jun-Aug"))
    assert own.ln_d_mean < new.ln_d_mean < elsewhere.ln_d_mean < WEAK_PRIOR.ln_d_mean
    assert own.ln_d_sd < new.ln_d_sd < elsewhere.ln_d_sd < WEAK_PRIOR.ln_d_sd


def test_two_recipes_keep_their_difference() -> None:
    """Recipes that dry alike in themselves but unlike each other are told apart."""
    rng = np.random.default_rng(4)
    taught = Teachers([*shop(rng, "DRF", 6, -24.6, 12.0), *shop(rng, "EBB", 6, -23.8, 9.0)])
    slow = taught.prior(Kind(recipe="DRF", room="rack", season="Sep-Nov"))
    fast = taught.prior(Kind(recipe="EBB", room="rack", season="Sep-Nov"))
    assert fast.ln_d_mean - slow.ln_d_mean > 0.4
    assert slow.end_percent_mean - fast.end_percent_mean > 1.5


def test_one_damp_batch_does_not_teach_all() -> None:
    """Among eight sound batches one at a quarter of the rate moves the prior by little."""
    sound = shop(np.random.default_rng(5), "DRF", 8, -24.2, 11.0)
    damp = grown("DAMP", -25.6, 11.0, sound[0].kind)
    without = Teachers(sound).prior(sound[0].kind)
    with_it = Teachers([*sound, damp]).prior(sound[0].kind)
    assert abs(with_it.ln_d_mean - without.ln_d_mean) < 0.1


def test_a_finished_batch_does_not_teach_itself() -> None:
    """Leaving a lot out gives what the others alone would say."""
    batches = shop(np.random.default_rng(6), "DRF", 6, -24.2, 11.0)
    kind = batches[0].kind
    assert Teachers(batches).prior(kind, without="DRF0") == Teachers(batches[1:]).prior(kind)


@pytest.mark.parametrize(
    ("month", "season"), [(12, "Dec-Feb"), (1, "Dec-Feb"), (3, "Mar-May"), (11, "Sep-Nov")]
)
def test_seasons_are_quarters(month: int, season: str) -> None:
    """December counts with January."""
    assert season_of(month) == season


def test_batches_that_tell_nothing_leave_the_families_even() -> None:
    """With readings as likely in both families the chance stays a half."""
    assert skin_share(np.ones(20)) == pytest.approx(0.5)


def test_a_shop_of_even_bars_doubts_skin_and_core_more_with_each_batch() -> None:
    """Fick's bars bring the chance of skin and core under the weak prior's."""
    rng = np.random.default_rng(8)
    few = Teachers(shop(rng, "DRF", 4, -24.2, 10.0)).prior(Kind(recipe="DRF"))
    many = Teachers(shop(rng, "DRF", 16, -24.2, 10.0)).prior(Kind(recipe="DRF"))
    assert many.skin_chance < few.skin_chance < WEAK_PRIOR.skin_chance
