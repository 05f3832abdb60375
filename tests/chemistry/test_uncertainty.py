"""How sure a superfat is."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.chemistry import molar
from soapstock.chemistry.fats import get_fat
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.lye import FatPortion, Lye, alkali_needed_g, span_text
from soapstock.chemistry.uncertainty import SuperfatStudy, study_superfat
from soapstock.errors import BadInput

BLENDS = [
    {"beef-tallow": 1000.0},
    {"beef-tallow": 600.0, "olive": 400.0},
    {"mutton-tallow": 400.0, "olive": 300.0, "coconut": 250.0, "castor": 50.0},
    {"olive": 500.0, "shea": 500.0},
    dict.fromkeys(("lard", "palm", "coconut", "sunflower", "almond"), 100.0),
]
ASSAY = Interval(low=96.0, nominal=98.0, high=99.0)


def pour(blend: dict[str, float], superfat: float) -> tuple[list[FatPortion], Lye]:
    """Fats of the tables with the lye for a superfat."""
    portions = [FatPortion(fat=k, mass_g=m, sv=get_fat(k).sv) for k, m in blend.items()]
    naoh, _ = alkali_needed_g(portions, superfat, naoh_assay_percent=98.0, koh_assay_percent=90.0)
    return portions, Lye(
        naoh_g=naoh, naoh_assay_percent=ASSAY, koh_assay_percent=Interval.exact(90.0)
    )


def drawn(portions: list[FatPortion], lye: Lye, step: float, size: int = 200_000) -> np.ndarray:
    """Superfats with every figure drawn evenly from its range; fixed seed."""
    rng = np.random.default_rng(20261125)
    demand = sum(
        (p.mass_g + rng.uniform(-step, step, size)) * rng.uniform(p.sv.low, p.sv.high, size)
        for p in portions
    )
    alkali = (lye.naoh_g + rng.uniform(-step, step, size)) * rng.uniform(96.0, 99.0, size)
    return 100 * (1 - alkali / 100 / molar.NAOH / (demand / 1000 / molar.KOH))


@pytest.mark.parametrize("blend", BLENDS, ids="-".join)
@pytest.mark.parametrize(("superfat", "step"), [(2.0, 0.1), (5.0, 1.0)])
def test_monte_carlo_agrees_with_the_analytic_figures(
    blend: dict[str, float], superfat: float, step: float
) -> None:
    """Central 95 % within 0.1 points, chance of lye left within 1 %, bounds never passed."""
    portions, lye = pour(blend, superfat)
    found = study_superfat(portions, lye, scale_step_g=step)
    draws = drawn(portions, lye, step)
    low, high = np.percentile(draws, [2.5, 97.5])
    assert found.central.low == pytest.approx(low, abs=0.1)
    assert found.central.high == pytest.approx(high, abs=0.1)
    assert found.chance_lye_left == pytest.approx(float((draws < 0).mean()), abs=0.01)
    assert found.bounds.low <= draws.min()
    assert draws.max() <= found.bounds.high


def test_lots_of_one_fat_stand_or_fall_together() -> None:
    """Splitting a fat into lots makes nothing surer."""
    whole, lye = pour({"beef-tallow": 1000.0}, 5.0)
    halves = [FatPortion(fat="beef-tallow", mass_g=500.0, sv=whole[0].sv)] * 2
    one = study_superfat(whole, lye, scale_step_g=0.0)
    two = study_superfat(halves, lye, scale_step_g=0.0)
    assert two.central == one.central


def test_several_fats_make_it_surer() -> None:
    """Independent ranges partly even out."""
    one, lye_one = pour({"beef-tallow": 1000.0}, 5.0)
    two, lye_two = pour({"beef-tallow": 500.0, "lard": 500.0}, 5.0)

    def width(found: SuperfatStudy) -> float:
        return found.central.high - found.central.low

    assert width(study_superfat(two, lye_two, scale_step_g=0.0)) < width(
        study_superfat(one, lye_one, scale_step_g=0.0)
    )


@given(
    masses=st.lists(st.floats(10.0, 1e4), min_size=1, max_size=5),
    superfat=st.floats(0.0, 20.0),
    step=st.floats(0.0, 5.0),
)
def test_the_central_figure_lies_inside_the_bounds(
    masses: list[float], superfat: float, step: float
) -> None:
    """Whatever the pour."""
    keys = ("olive", "lard", "coconut", "castor", "shea")
    portions, lye = pour(dict(zip(keys, masses, strict=False)), superfat)
    found = study_superfat(portions, lye, scale_step_g=step)
    assert found.bounds.low <= found.central.low <= found.nominal
    assert found.nominal <= found.central.high <= found.bounds.high
    assert 0.0 <= found.chance_lye_left <= 1.0


def test_figures_known_exactly_leave_no_width() -> None:
    """A certain superfat has no chance of being otherwise."""
    fat = FatPortion(fat="olive", mass_g=1000.0, sv=Interval.exact(190.0))
    sure = Interval.exact(100.0)
    lye = Lye(naoh_g=130.0, naoh_assay_percent=sure, koh_assay_percent=sure)
    found = study_superfat([fat], lye, scale_step_g=0.0)
    assert found.bounds.low == pytest.approx(found.bounds.high)
    assert found.chance_lye_left == 0.0
    assert found.parts == ()


def test_the_explanation_names_the_widest_cause_first() -> None:
    """A maker sees what to mend."""
    portions, lye = pour({"beef-tallow": 100.0, "shea": 100.0}, 5.0)
    found = study_superfat(portions, lye, scale_step_g=5.0)
    assert found.parts[0].what == "weighing"
    text = " ".join(found.explain())
    assert "Shea butter" in text
    assert "19 pours in 20" in text


@pytest.mark.parametrize("step", [-1.0, float("nan"), 2000.0])
def test_a_senseless_scale_step_is_refused(step: float) -> None:
    """Negative, unknown, or coarser than the batch."""
    portions, lye = pour({"olive": 1000.0}, 5.0)
    with pytest.raises(BadInput):
        study_superfat(portions, lye, scale_step_g=step)


def test_small_chances_are_worded_honestly() -> None:
    """Not zero, yet under a tenth of a percent."""
    portions, lye = pour({"beef-tallow": 500.0, "olive": 300.0, "coconut": 200.0}, 3.9)
    found = study_superfat(portions, lye, scale_step_g=1.0)
    assert 0.0 < found.chance_lye_left < 0.001
    assert "under 0.1 %" in " ".join(found.explain())


@pytest.mark.parametrize("superfat", [4.0, 4.9, 5.0, 5.1, 6.3])
@pytest.mark.parametrize("blend", BLENDS, ids="+".join)
def test_what_is_explained_is_what_is_shown(blend: dict[str, float], superfat: float) -> None:
    """Both round the low end down: one said 1.2 and the other 1.3."""
    portions, lye = pour(blend, superfat)
    study = study_superfat(portions, lye, scale_step_g=1.0)
    shown = span_text(study.bounds).split("(")[1].rstrip(")")
    assert any(f"cannot leave {shown}," in line for line in study.explain())
