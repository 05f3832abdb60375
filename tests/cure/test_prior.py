"""Beliefs before the weigh-ins."""

from __future__ import annotations

import math

import pytest

from soapstock.cure.prior import WEAK_PRIOR, Prior, default_shape
from soapstock.errors import BadInput
from soapstock.recipes.bars import Brick


def test_the_weak_prior_is_the_documented_one() -> None:
    """D about 3.5e-11 m2/s, sd of ln D 0.5, end moisture 10 ± 3 %."""
    assert math.exp(WEAK_PRIOR.ln_d_mean) == pytest.approx(3.5e-11)
    assert (WEAK_PRIOR.ln_d_sd, WEAK_PRIOR.end_percent_mean, WEAK_PRIOR.end_percent_sd) == (
        0.5,
        10.0,
        3.0,
    )


def test_a_bar_without_a_size_is_a_usual_brick_of_its_mass() -> None:
    """90 x 60 x 25 mm at 1.05 g/ml weighs 141.75 g; twice the mass is twice the volume."""
    usual = default_shape(141.75)
    assert isinstance(usual, Brick)
    assert usual.length_mm == pytest.approx(90.0)
    assert default_shape(283.5).volume_ml == pytest.approx(2 * usual.volume_ml)


@pytest.mark.parametrize(
    ("sd", "end", "surprise"), [(0.0, 10.0, 0.0), (0.5, 100.0, 0.0), (0.5, 10.0, 1.0)]
)
def test_a_senseless_prior_is_refused(sd: float, end: float, surprise: float) -> None:
    """No spread, all water, or certain surprise raise BadInput."""
    with pytest.raises(BadInput):
        Prior(
            ln_d_mean=-24.0,
            ln_d_sd=sd,
            end_percent_mean=end,
            end_percent_sd=3.0,
            surprise_share=surprise,
        )
