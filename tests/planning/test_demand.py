"""Demand: the gamma-Poisson model on a grid, with censoring, against closed forms."""

from __future__ import annotations

import math

import lifelines
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from soapstock.errors import BadInput
from soapstock.planning.demand import PRIOR_SHAPE, Spell, demand, learn_rate


@settings(max_examples=40, deadline=None)
@given(st.floats(0.02, 20), st.integers(0, 200), st.floats(1, 200))
def test_uncensored_is_the_gamma_posterior(guess: float, sold: int, days: float) -> None:
    """Gamma (a + n, b + T), Gelman and others 2013, section 2.6 (from memory), by scipy's gamma."""
    rate = learn_rate(guess, [Spell(days=days, sold=sold)])
    exact = stats.gamma(PRIOR_SHAPE + sold, scale=1 / (PRIOR_SHAPE / guess + days))
    seen = rate.interval()
    assert [seen.low, seen.nominal, seen.high] == pytest.approx(
        list(exact.ppf([0.05, 0.5, 0.95])), rel=2e-3
    )
    assert rate.mean == pytest.approx(exact.mean(), rel=1e-3)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.1, 3), st.integers(0, 60), st.floats(5, 60), st.floats(3, 40))
def test_demand_is_negative_binomial(guess: float, sold: int, days: float, window: float) -> None:
    """A Poisson count whose rate is gamma is negative binomial; scipy's own distribution."""
    seen = demand(learn_rate(guess, [Spell(days=days, sold=sold)]), window)
    shape, inverse = PRIOR_SHAPE + sold, PRIOR_SHAPE / guess + days
    exact = stats.nbinom(shape, inverse / (inverse + window))
    count = len(seen.chance_at_least)
    assert seen.chance_at_least == pytest.approx(exact.sf(np.arange(count)), abs=2e-3)


@pytest.mark.parametrize(("sold", "days"), [(1, 3.0), (12, 4.0), (40, 30.0)])
def test_sold_out_counts_as_at_least(sold: int, days: float) -> None:
    """The mean with a censored spell, by numerical integration of prior times P(N >= sold)."""
    rate = learn_rate(1.5, [Spell(days=days, sold=sold, sold_out=True)])

    def weight(x: float) -> float:
        prior = stats.gamma.pdf(x, PRIOR_SHAPE, scale=1.5 / PRIOR_SHAPE)
        return float(prior * stats.poisson.sf(sold - 1, x * days))

    mass, _ = integrate.quad(weight, 0, 60, limit=400)
    first, _ = integrate.quad(lambda x: x * weight(x), 0, 60, limit=400)
    assert rate.mean == pytest.approx(first / mass, rel=2e-3)


def test_selling_out_never_lowers_the_rate() -> None:
    """What sold out is believed to have been asked for at least as much as what did not."""
    for sold in (1, 5, 20):
        plain = learn_rate(1.0, [Spell(days=7, sold=sold)])
        out = learn_rate(1.0, [Spell(days=7, sold=sold, sold_out=True)])
        assert out.mean > plain.mean


def test_few_data_are_wide() -> None:
    """The same rate from ten times the days has a narrower interval."""
    few = learn_rate(1.0, [Spell(days=7, sold=7)]).interval()
    many = learn_rate(1.0, [Spell(days=70, sold=70)]).interval()
    assert few.high / few.low > 2 * many.high / many.low


def test_ninety_percent_ranges_hold_in_simulated_seasons() -> None:
    """Rates drawn from the prior: later demand lies in its 90 % range in about 90 % of seasons."""
    rng = np.random.default_rng(11)
    inside = 0
    for _ in range(400):
        true = rng.gamma(PRIOR_SHAPE, 1.0 / PRIOR_SHAPE)
        seen = demand(learn_rate(1.0, [Spell(days=40, sold=int(rng.poisson(true * 40)))]), 28)
        later = int(rng.poisson(true * 28))
        low, high = seen.at_chance(0.05), seen.at_chance(0.95)
        inside += low <= later <= high
    assert 0.85 <= inside / 400 <= 0.97  # whole bars make the range hold a little too often


def test_newsvendor_against_its_critical_ratio() -> None:
    """Buy while P(D >= k) > c / p: the least k with F(k) >= (p - c) / p.

    Nahmias, Production and Operations Analysis, chapter 5 (from memory): stock at the critical
    ratio of the demand's distribution; here that of scipy's negative binomial.
    """
    seen = demand(learn_rate(1.0, [Spell(days=60, sold=55)]), 28)
    inverse = PRIOR_SHAPE + 60
    exact = stats.nbinom(PRIOR_SHAPE + 55, inverse / (inverse + 28))
    for cost in (0.1, 0.25, 0.5, 0.8):
        assert seen.at_chance(1 - cost) == int(exact.ppf(1 - cost))


def test_expected_sales_by_hand() -> None:
    """E[min(s, D)] is the sum of the tail to s; certain bars come first."""
    seen = demand(learn_rate(0.5, []), 14, sure=3)
    assert seen.expected_sales(3) == 3.0
    assert seen.expected_sales(4.5) == pytest.approx(3 + seen.marginal(4) + 0.5 * seen.marginal(5))
    assert math.isclose(seen.expected_sales(10**4), seen.mean)


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan")])
def test_refuses_no_guess(bad: float) -> None:
    """Without a guess above zero nothing is known."""
    with pytest.raises(BadInput):
        learn_rate(bad, [])


def test_censored_spells_against_lifelines() -> None:
    """With a prior that weighs nothing: the likeliest rate is that of lifelines 0.30.

    Of one bar on sale, sold out within so many days is a first request in that time (censored on
    the left), unsold is none yet (on the right): an exponential waiting time
    (lifelines.ExponentialFitter.fit_interval_censoring, maximum likelihood).
    """
    gone, unsold = (3.0, 5.0, 8.0, 2.0, 13.0, 6.0, 4.0), (3.0, 7.0, 10.0, 2.5)
    spells = [Spell(days=d, sold=1, sold_out=True) for d in gone]
    spells += [Spell(days=d, sold=0) for d in unsold]
    ours = learn_rate(0.2, spells, shape=1e-6)
    likeliest = ours.per_day[ours.weight.argmax()]
    low = [0.0] * len(gone) + list(unsold)
    high = [*gone, *[float("inf")] * len(unsold)]
    theirs = lifelines.ExponentialFitter().fit_interval_censoring(low, high)
    assert likeliest == pytest.approx(1.0 / theirs.lambda_, rel=0.02)
    assert likeliest > len(gone) / (sum(gone) + sum(unsold)) * 1.1  # the censoring counts
