"""Type heights and placement, on both sides of every boundary."""

from datetime import date

import pytest

from soapstock.errors import BadInput
from soapstock.labelling.law import NoRuleInForce
from soapstock.labelling.type_size import (
    bold_type,
    cylinder_panel_cm2,
    net_weight_placement,
    rectangle_panel_cm2,
    type_rule,
)

DAY = date(2026, 11, 25)
SQ_IN = 6.4516


def test_a_measure_that_is_needed_and_missing_is_refused() -> None:
    """No height is guessed without the panel's area or the nominal quantity."""
    with pytest.raises(BadInput, match="area"):
        type_rule("us-soap", DAY)
    with pytest.raises(BadInput, match="nominal"):
        type_rule("eu", DAY)


def test_a_day_outside_the_table_is_refused() -> None:
    """A height for a day the market's table does not cover is an error."""
    with pytest.raises(NoRuleInForce):
        type_rule("uk", date(2020, 1, 1), nominal_g=113)


def test_where_the_law_names_no_figure_our_floor_says_so() -> None:
    """EU letters need only be legible; our own floor is marked as ours."""
    rule = type_rule("eu", DAY, what="ingredients")
    assert rule.min_mm == 1.2
    assert not rule.by_law
    assert rule.confidence == "our own"


def test_a_rule_says_which_row_it_followed() -> None:
    """`--explain` can print the row behind a size."""
    rule = type_rule("us-soap", DAY, panel_area_cm2=54.0)
    assert "8.37 sq in" in rule.because
    assert "1/8 in" in rule.because


def test_canada_s_small_print_has_a_height_of_its_own() -> None:
    """Statements without a row of their own take the market's row for others."""
    assert type_rule("ca", DAY, what="ingredients").min_mm == 1.6


def test_a_statement_no_rule_asks_for_is_bound_by_our_floor_alone() -> None:
    """C.R.C. c. 417 s. 15 is on required text; a lot code there is the maker's own choice."""
    asked = type_rule("ca", DAY, what="lot")
    own = type_rule("ca", DAY, what="lot", required=False)
    assert (asked.min_mm, asked.by_law) == (1.6, True)
    assert own.min_mm < 1.6
    assert not own.by_law
    assert "no rule" in own.because


def test_the_net_weight_is_bound_whoever_asks_for_it() -> None:
    """Leaving `required` off never shrinks the net weight."""
    assert type_rule("eu", DAY, nominal_g=113, required=False).min_mm == 3.0


def test_the_bottom_thirty_percent_binds_only_above_five_square_inches() -> None:
    """At 5 sq in it is waived, above it binds."""
    at = net_weight_placement("us-soap", DAY, 5 * SQ_IN)
    above = net_weight_placement("us-soap", DAY, 5.01 * SQ_IN)
    assert at.bottom_fraction is None
    assert above.bottom_fraction == 0.3
    assert (above.clear_above_below_heights, above.clear_sides_n_widths) == (1, 2)
    assert above.bold


def test_the_eu_has_no_bottom_rule() -> None:
    """The quantity may stand anywhere it is easily seen."""
    assert net_weight_placement("eu", DAY, 100).bottom_fraction is None


def test_panel_areas_by_shape() -> None:
    """A whole side; two fifths of a cylinder's side."""
    assert rectangle_panel_cm2(90, 60) == 54.0
    assert cylinder_panel_cm2(76.2, 190.5) == pytest.approx(9.0 * SQ_IN)


@pytest.mark.parametrize(
    ("market", "kinds"),
    [
        ("us-soap", {"net_weight"}),  # 16 CFR 500.6(b)
        ("us-cosmetic", {"net_weight", "identity", "precautions"}),  # 21 CFR 701.11, 701.13, 740.2
        ("ca", {"net_weight"}),  # C.R.C. c. 417 s. 14(2)
        ("eu", set()),
        ("uk", set()),
    ],
)
def test_what_must_be_bold_depends_on_the_market(market: str, kinds: set[str]) -> None:
    """The sections named beside each market."""
    assert set(bold_type(market, DAY)) == kinds
