"""Good bars of those poured, against scipy's beta-binomial."""

from __future__ import annotations

import pytest
from scipy import stats

from soapstock.planning.breakage import PRIOR_BAD, PRIOR_GOOD, good_bars


@pytest.mark.parametrize(("poured", "good", "bad"), [(20, 0, 0), (40, 300, 4), (7, 10, 30)])
def test_beta_binomial(poured: int, good: int, bad: int) -> None:
    """The three points are those of scipy.stats.betabinom."""
    exact = stats.betabinom(poured, PRIOR_BAD + bad, PRIOR_GOOD + good)
    seen = good_bars(poured, good, bad)
    assert poured - seen.high == exact.ppf(0.05)
    assert poured - seen.nominal == exact.ppf(0.5)
    assert poured - seen.low == exact.ppf(0.95)


def test_nothing_poured() -> None:
    """No bars, no range."""
    assert good_bars(0, 10, 1).high == 0
