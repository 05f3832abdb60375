"""Minutes to trace from the shop's pots: a censored fit against another program, and honesty."""

from __future__ import annotations

from typing import Any

import lifelines
import numpy as np
import pandas
import pytest

from soapstock.planning.trace import Pot, fit, minutes_to_trace

RNG = np.random.default_rng(20261126)


def test_the_censored_fit_is_that_of_another_program() -> None:
    """With a prior that weighs nothing: the left-censored log-normal fit of lifelines 0.30.

    lifelines.LogNormalAFTFitter.fit_left_censoring (maximum likelihood, no penalty).
    """
    warm = RNG.normal(0.0, 1.0, 200)
    minutes = np.exp(2.0 - 0.4 * warm + RNG.normal(0.0, 0.35, 200))
    seized = minutes < np.quantile(minutes, 0.3)
    told = np.where(seized, np.quantile(minutes, 0.3), minutes)
    table = pandas.DataFrame({"minutes": told, "warm": warm, "seen": ~seized})
    theirs = lifelines.LogNormalAFTFitter().fit_left_censoring(table, "minutes", "seen")
    scatter = float(np.exp(theirs.params_["sigma_"]["Intercept"]))
    x = np.column_stack([np.ones(200), warm])
    ours = fit(x, np.log(told), seized, np.array([[0.0, 1e4], [0.0, 1e4]]), scatter)
    assert ours.mode[0] == pytest.approx(theirs.params_["mu_"]["Intercept"], abs=1e-3)
    assert ours.mode[1] == pytest.approx(theirs.params_["mu_"]["warm"], abs=1e-3)


def test_without_seized_pots_it_is_the_normal_regression() -> None:
    """The closed form of a normal prior and a normal likelihood (textbook conjugate result)."""
    x = np.column_stack([np.ones(6), RNG.normal(size=6)])
    y = RNG.normal(2.0, 0.3, 6)
    prior = np.array([[2.3, 1.5], [-0.3, 0.3]])
    found = fit(x, y, np.zeros(6, dtype=bool), prior, 0.4)
    precision = x.T @ x / 0.16 + np.diag(prior[:, 1] ** -2)
    mean = np.linalg.solve(precision, x.T @ y / 0.16 + prior[:, 0] / prior[:, 1] ** 2)
    assert found.mode == pytest.approx(mean)
    assert found.covariance == pytest.approx(np.linalg.inv(precision))
    cov = np.eye(6) * 0.16 + x @ np.diag(prior[:, 1] ** 2) @ x.T
    rest = y - x @ prior[:, 0]
    exact = -0.5 * (rest @ np.linalg.solve(cov, rest) + np.linalg.slogdet(2 * np.pi * cov)[1])
    assert found.evidence == pytest.approx(exact)


def pot(minutes: float | None, **more: Any) -> Pot:
    """A pot at 40 C."""
    plain: dict[str, Any] = {"recipe": "DRF", "scents": (), "temp_c": 40.0, "lye_percent": 33.0}
    return Pot(**(plain | more), minutes=minutes)


def test_until_the_pots_speak_nothing_is_known() -> None:
    """Two timed pots, or any number of seized ones, are none."""
    assert minutes_to_trace([pot(8), pot(9)], pot(None)) is None
    assert minutes_to_trace([pot(2, seized=True)] * 9, pot(None)) is None
    assert minutes_to_trace([pot(8), pot(9), pot(10), pot(9)], pot(None)) is not None


def test_a_seized_pot_makes_its_scent_quicker_and_a_little_all_scents() -> None:
    """Partly pooled: what one scent did is feared of another, but less."""
    plain = [pot(m) for m in (10, 11, 9, 10, 12)]
    mild = [pot(m, scents=("lavender-oil",)) for m in (10, 9, 11)]
    wild = [pot(3, scents=("clove-oil",), seized=True)] * 3

    def middle(pots: list[Pot], *scents: str) -> float:
        found = minutes_to_trace(pots, pot(None, scents=scents))
        assert found is not None
        return found.nominal

    pots = plain + mild + wild
    assert middle(pots, "clove-oil") < middle(pots, "new-oil") < middle(plain + mild, "new-oil")
    assert middle(pots, "lavender-oil") == pytest.approx(10.0, rel=0.15)


def test_warmer_pots_teach_that_warm_is_quicker() -> None:
    """From pots of the shop at 35 and 50 C."""
    pots = [pot(m, temp_c=35.0) for m in (15, 16, 14)] + [pot(m, temp_c=50.0) for m in (6, 7, 6)]
    warm, cool = (minutes_to_trace(pots, pot(None, temp_c=t)) for t in (50.0, 35.0))
    assert warm is not None
    assert cool is not None
    assert warm.nominal < 0.7 * cool.nominal


def test_nine_in_ten_new_pots_fall_within_the_ends() -> None:
    """400 shops drawn from the believed densities: 85 to 95 % of the next pots are within."""
    inside = asked = 0
    for _ in range(400):
        usual, warm = RNG.normal(np.log(10), 0.8), RNG.normal(-0.3, 0.3)
        scent, scatter = RNG.normal(0.0, 0.5), np.exp(RNG.normal(np.log(0.35), 0.3))
        temps = RNG.uniform(30, 50, 9)
        scented = RNG.random(9) < 0.5
        ln = usual + warm * (temps - 40) / 10 + scent * scented + RNG.normal(0, scatter, 9)
        pots = [
            pot(float(np.exp(m)), temp_c=float(t), scents=("a-oil",) if s else ())
            for m, t, s in zip(ln, temps, scented, strict=True)
        ]
        found = minutes_to_trace(pots[:8], pots[8])
        if found is not None:
            asked += 1
            inside += found.low <= float(np.exp(ln[8])) <= found.high
    assert asked > 200
    assert 0.85 <= inside / asked <= 0.95, inside / asked
