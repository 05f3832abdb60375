"""Lye demand, superfat as an interval, the verdict."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.chemistry.interval import Interval
from soapstock.chemistry.lye import (
    FatPortion,
    Lye,
    alkali_needed_g,
    default_assay,
    judge_superfat,
    span_text,
    superfat_percent,
)
from soapstock.errors import BadInput

PURE = Interval.exact(100.0)


def portion(mass_g: float = 1000.0, low: float = 190.0, high: float = 202.0) -> FatPortion:
    """A portion of tallow."""
    return FatPortion(fat="beef-tallow", mass_g=mass_g, sv=Interval.between(low, high))


def lye(naoh_g: float = 0.0, koh_g: float = 0.0, assay: Interval = PURE) -> Lye:
    """Pure lye unless told."""
    return Lye(naoh_g=naoh_g, koh_g=koh_g, naoh_assay_percent=assay, koh_assay_percent=assay)


@given(
    masses=st.lists(st.floats(1.0, 1e5), min_size=1, max_size=6),
    superfat=st.floats(0.0, 50.0),
    share=st.floats(0.0, 1.0),
    assay=st.floats(80.0, 100.0),
)
def test_the_lye_asked_for_gives_the_superfat_asked_for(
    masses: list[float], superfat: float, share: float, assay: float
) -> None:
    """alkali_needed_g and superfat_percent are inverse at the nominal figures."""
    portions = [portion(mass) for mass in masses]
    naoh, koh = alkali_needed_g(
        portions, superfat, naoh_share=share, naoh_assay_percent=assay, koh_assay_percent=assay
    )
    found = superfat_percent(portions, lye(naoh, koh, Interval.exact(assay)))
    assert found.nominal == pytest.approx(superfat, abs=1e-9)


@given(naoh=st.floats(1.0, 400.0), low=st.floats(150.0, 190.0), high=st.floats(190.0, 260.0))
def test_the_superfat_bounds_hold_every_combination(naoh: float, low: float, high: float) -> None:
    """Corners of the SV and assay ranges give exactly the bounds."""
    assay = Interval(low=95.0, nominal=98.0, high=100.5)
    found = superfat_percent([portion(low=low, high=high)], lye(naoh, assay=assay))
    corners = [
        superfat_percent([portion(low=sv, high=sv)], lye(naoh, assay=Interval.exact(a))).nominal
        for sv in (low, high)
        for a in (95.0, 100.5)
    ]
    assert found.low == pytest.approx(min(corners))
    assert found.high == pytest.approx(max(corners))


def test_no_fat_has_no_superfat() -> None:
    """Refuse rather than divide by nothing."""
    with pytest.raises(BadInput, match="no fat"):
        superfat_percent([], lye(10))


@pytest.mark.parametrize(
    ("low", "nominal", "high", "word"),
    [
        (1.0, 5.0, 9.0, "safe"),
        (0.0, 3.0, 6.0, "safe"),
        (-0.1, 3.0, 6.0, "check"),
        (-4.0, -0.1, 3.0, "refuse"),
        (15.0, 21.0, 26.0, "check"),
    ],
)
def test_verdicts_by_what_the_range_allows(
    low: float, nominal: float, high: float, word: str
) -> None:
    """Refuse what is likely lye-heavy, check what may be, or what has too much fat."""
    verdict = judge_superfat(Interval(low=low, nominal=nominal, high=high))
    assert verdict.word == word
    assert verdict.reasons


def test_an_unstated_assay_takes_the_whole_range_of_the_monograph() -> None:
    """USP-NF sodium hydroxide (28 to 35): total alkali 95.0 to 100.5 %."""
    assay = default_assay("naoh", None)
    assert assay.high == 100.5
    assert assay.low == pytest.approx(95.0 - 2.0 * 0.7547, abs=0.001)


def test_a_stated_assay_keeps_a_margin() -> None:
    """A single printed figure is still not exact."""
    assay = default_assay("naoh", 98.0)
    assert (assay.nominal, assay.high) == (98.0, 99.0)


def test_carbonate_on_the_paper_is_taken_off() -> None:
    """3.0 % Na2CO3 counts as 2.26 % NaOH in a titration (USP-NF limits; 2 x 39.997 / 105.988)."""
    assay = default_assay("naoh", 98.0, carbonate_percent=3.0)
    assert assay.nominal == pytest.approx(98.0 - 2.26, abs=0.005)
    assert assay.high == pytest.approx(99.0 - 2.26, abs=0.005)


def test_hidden_carbonate_widens_only_the_careful_end() -> None:
    """A weaker lye means more superfat; the strong end, which burns, is not softened."""
    open_paper = default_assay("naoh", 98.0, carbonate_percent=0.0)
    silent = default_assay("naoh", 98.0)
    assert silent.low < open_paper.low
    assert silent.high == open_paper.high


@pytest.mark.parametrize(
    "wrong",
    [
        {"superfat_percent": 100.0},
        {"superfat_percent": -1.0},
        {"naoh_share": 1.2},
        {"naoh_assay_percent": 0.0},
    ],
)
def test_impossible_wishes_are_refused(wrong: dict[str, float]) -> None:
    """Out-of-range figures raise BadInput."""
    wish = {"superfat_percent": 5.0, "naoh_share": 1.0, "naoh_assay_percent": 98.0} | wrong
    with pytest.raises(BadInput):
        alkali_needed_g([portion()], koh_assay_percent=90.0, **wish)


@pytest.mark.parametrize("mass", [-1.0, float("nan"), float("inf")])
def test_impossible_masses_are_refused(mass: float) -> None:
    """Negative, unknown and endless masses raise BadInput."""
    with pytest.raises(BadInput):
        portion(mass)
    with pytest.raises(BadInput):
        lye(mass)


@pytest.mark.parametrize(
    "wrong",
    [
        {"sv": Interval.exact(0.0)},
        {"acid_value": 300.0},
        {"acid_value": -1.0},
        {"moisture_percent": 100.0},
    ],
)
def test_impossible_fats_are_refused(wrong: dict[str, object]) -> None:
    """No SV, more acid than SV, nothing but water."""
    facts: dict[str, object] = {"fat": "olive", "mass_g": 1.0, "sv": Interval.exact(190.0)}
    with pytest.raises(BadInput):
        FatPortion(**(facts | wrong))  # type: ignore[arg-type]


@pytest.mark.parametrize("assay", [0.0, 102.0])
def test_an_impossible_assay_is_refused(assay: float) -> None:
    """A pharmacopoeia stops at 100.5 %."""
    with pytest.raises(BadInput, match="assay"):
        lye(10.0, assay=Interval.exact(assay))


@pytest.mark.parametrize(
    ("low", "shown"), [(0.69, "0.6"), (0.6, "0.6"), (-0.01, "-0.1"), (-0.0, "0.0"), (0.04, "0.0")]
)
def test_a_superfats_low_end_is_never_shown_safer_than_it_is(low: float, shown: str) -> None:
    """It is rounded down, and nothing is shown as minus zero."""
    assert span_text(Interval(low=low, nominal=5.0, high=10.0)) == f"5.0 % ({shown} to 10.0 %)"


@pytest.mark.parametrize(
    ("weighed_low", "bare_low", "word", "says"),
    [
        (0.2, 0.9, "safe", "weighing errors included"),
        (-0.2, 0.9, "check", "by weighing errors"),
        (-0.9, -0.2, "check", "if the fats take little"),
    ],
)
def test_no_lye_is_left_over_only_where_weighing_cannot_leave_it(
    weighed_low: float, bare_low: float, word: str, says: str
) -> None:
    """The interval that is printed and judged is the whole one."""
    whole = Interval(low=weighed_low, nominal=5.0, high=10.0)
    bare = Interval(low=bare_low, nominal=5.0, high=9.0)
    verdict = judge_superfat(whole, without_weighing=bare)
    assert verdict.word == word
    assert says in verdict.reasons[0]
    assert ("no lye is left over" in verdict.reasons[0]) is (weighed_low >= 0.0)
