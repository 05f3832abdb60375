"""Type heights: every row of the cited tables, at its boundary and just beyond it."""

from datetime import date

import pytest

from soapstock.labelling.type_size import type_rule

DAY = date(2026, 11, 25)
SQ_IN_CM2 = 6.4516  # 16 CFR 500.19, exact

# 16 CFR 500.21(b), 21 CFR 701.13(i), UPLR Table 1 in mm. First row read, the others FROM MEMORY.
US = [
    (1.0, 1.6),
    (5.0, 1.6),
    (5.01, 3.2),
    (25.0, 3.2),
    (25.01, 4.8),
    (100.0, 4.8),
    (100.01, 6.4),
    (400.0, 6.4),
    (400.01, 12.7),
]


@pytest.mark.parametrize("market", ["us-soap", "us-cosmetic"])
@pytest.mark.parametrize(("square_inches", "mm"), US)
def test_us_heights_by_panel_area(market: str, square_inches: float, mm: float) -> None:
    """16 CFR 500.21(b); 21 CFR 701.13(i)."""
    assert type_rule(market, DAY, panel_area_cm2=square_inches * SQ_IN_CM2).min_mm == mm


@pytest.mark.parametrize(
    ("inches", "mm"), [(1 / 16, 1.6), (1 / 8, 3.2), (3 / 16, 4.8), (1 / 4, 6.4), (1 / 2, 12.7)]
)
def test_the_metric_heights_are_never_under_the_inch_ones(inches: float, mm: float) -> None:
    """The millimetres we ask for meet 16 CFR 500.21's inches too."""
    assert inches * 25.4 <= mm < inches * 25.4 + 0.06


# Directive 76/211/EEC Annex I 3.1; German FPackV 2020 s. 38(2); Austrian FPVO 1993 s. 11(1).
EU = [(5, 2), (50, 2), (50.1, 3), (113, 3), (200, 3), (200.1, 4), (1000, 4), (1000.1, 6)]


@pytest.mark.parametrize("market", ["eu", "uk"])
@pytest.mark.parametrize(("grams", "mm"), EU)
def test_eu_figure_heights_by_nominal_quantity(market: str, grams: float, mm: float) -> None:
    """Directive 76/211/EEC Annex I 3.1."""
    assert type_rule(market, DAY, nominal_g=grams).min_mm == mm


# Consumer Packaging and Labelling Regulations C.R.C. c. 417 s. 14(2).
CA = [
    (10, 1.6),
    (32, 1.6),
    (32.1, 3.2),
    (258, 3.2),
    (258.1, 6.4),
    (645, 6.4),
    (645.1, 9.5),
    (2580, 9.5),
    (2580.1, 12.7),
]


@pytest.mark.parametrize(("area_cm2", "mm"), CA)
def test_canadian_heights_by_display_surface(area_cm2: float, mm: float) -> None:
    """C.R.C. c. 417 s. 14(2)."""
    assert type_rule("ca", DAY, panel_area_cm2=area_cm2).min_mm == mm


@pytest.mark.parametrize(("square_inches", "mm"), [(11.99, 0.8), (12.0, 1.6), (12.01, 1.6)])
def test_cosmetic_ingredient_letters_by_labelling_surface(square_inches: float, mm: float) -> None:
    """21 CFR 701.3(b): 1/32 in under 12 sq in of labelling surface, else 1/16 in."""
    found = type_rule(
        "us-cosmetic", DAY, panel_area_cm2=square_inches * SQ_IN_CM2, what="ingredients"
    ).min_mm
    assert found == mm


def test_the_small_package_s_height_is_cited_by_its_own_paragraph() -> None:
    """1/32 in stands in 21 CFR 701.3(p), which was read at second hand; 1/16 in stands in (b)."""
    rule = type_rule("us-cosmetic", DAY, panel_area_cm2=50.0, what="ingredients")
    assert rule.citation == "21 CFR 701.3(b), 701.3(p)"
    assert rule.confidence == "read-2"


def test_warnings_and_the_e_mark_have_one_height() -> None:
    """21 CFR 740.2(b): 1/16 in; Directive 76/211/EEC Annex I 3.3: 3 mm."""
    assert type_rule("us-cosmetic", DAY, what="warnings").min_mm == 1.6
    assert type_rule("eu", DAY, what="e_mark").min_mm == 3


def test_the_worked_bar_wraps() -> None:
    """3.5 x 2.25 in is 7.875 sq in; a cylinder 3 in high, 7.5 in round is 9.0: both 1/8 in."""
    for square_inches in (3.5 * 2.25, 0.40 * 3 * 7.5):
        assert type_rule("us-soap", DAY, panel_area_cm2=square_inches * SQ_IN_CM2).min_mm == 3.2


def test_the_recalled_rows_say_that_they_are_recalled() -> None:
    """16 CFR 500.21(b) beyond the first step is from memory, and the rule says so."""
    assert type_rule("us-soap", DAY, panel_area_cm2=50).confidence == "from memory"
