"""Choosing and checking a declared weight."""

from dataclasses import dataclass
from decimal import Decimal

import pytest

from soapstock.cure.model import BatchStart, WeighIn, forecast
from soapstock.errors import BadInput
from soapstock.labelling.advice import (
    advise_declared,
    largest_kept_g,
    tolerance_for,
)
from soapstock.recipes.bars import Brick


@dataclass
class Falling:
    """A bar of 120 g that loses 0.1 g a day; its mean is known exactly."""

    def chance_mean_at_least(self, mass_g: float, day: float) -> float:
        """One below the bar's mass, nought above."""
        return 1.0 if mass_g <= 120.0 - 0.1 * day else 0.0


def test_the_largest_whole_gram_kept_is_found() -> None:
    """After 35 days the bar weighs 116.5 g, so 116 g may be declared."""
    assert largest_kept_g(Falling(), 35, top_g=130) == 116


def test_a_gram_kept_exactly_counts() -> None:
    """After 40 days the bar weighs 116 g, and 116 g is kept."""
    assert largest_kept_g(Falling(), 40, top_g=130) == 116


def test_a_promise_kept_at_pack_but_not_to_the_end_is_told() -> None:
    """113 g holds at pack and not in a year; the note cites the rule."""
    advice = advise_declared(
        Decimal(113), Falling(), market="us-soap", pack_day=35, best_before_day=365, top_g=130
    )
    assert advice.chance_at_pack == 1.0
    assert advice.chance_at_best_before == 0.0
    assert any("500.25(b)" in note for note in advice.notes)


def test_a_cosmetic_s_loss_after_sale_is_fda_s_matter() -> None:
    """16 CFR 500 is the FTC's and does not bind cosmetics: 21 CFR 701.13(s) does (from memory)."""
    advice = advise_declared(
        Decimal(113), Falling(), market="us-cosmetic", pack_day=35, best_before_day=365, top_g=130
    )
    assert any("21 CFR 701.13(s)" in note for note in advice.notes)
    assert not any("16 CFR" in note for note in advice.notes)


def test_the_tolerance_is_the_market_s() -> None:
    """MAV in the United States, TNE in Europe, none known for Canada."""
    mav, tne = tolerance_for(Decimal(113), "us-soap"), tolerance_for(Decimal(113), "uk")
    assert mav is not None
    assert tne is not None
    assert (mav.g, tne.g) == (Decimal("7.2"), Decimal("5.1"))
    assert tolerance_for(Decimal(113), "ca") is None


def test_the_drying_model_is_taken_as_it_is() -> None:
    """With a real forecast a surer promise is a smaller one, and the advised gram is kept."""
    start = BatchStart(
        mass_per_bar_g=130,
        day=1,
        water_fraction=0.24,
        scale_step_g=1,
        shape=Brick(length_mm=90, width_mm=60, height_mm=25),
    )
    dries = forecast(start, [WeighIn(day=15, mass_g=1240, bars=10)])
    sure = largest_kept_g(dries, 35, chance=0.95, top_g=130)
    even = largest_kept_g(dries, 35, chance=0.5, top_g=130)
    assert sure is not None
    assert even is not None
    assert sure <= even
    assert dries.chance_mean_at_least(float(sure), 35) >= 0.95
    assert dries.chance_mean_at_least(float(sure) + 1, 35) < 0.95


@pytest.mark.parametrize(("chance", "top_g"), [(0.0, 100), (1.0, 100), (0.9, 0)])
def test_a_figure_out_of_range_is_refused(chance: float, top_g: float) -> None:
    """A chance lies between none and certain, a mass above zero."""
    with pytest.raises(BadInput):
        largest_kept_g(Falling(), 1, chance=chance, top_g=top_g)
