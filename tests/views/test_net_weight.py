"""The net-weight check of a file, and its record."""

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from soapstock.errors import BadInput, NotFound
from soapstock.papers.net_weight import record_text
from soapstock.views.net_weight import check_net_weight

DAY = date(2026, 11, 25)
ERRORS = [-1.2, 0.3, -0.8, 0.5, -2.0, -0.4, 0.9, -1.1, -0.6, 0.2, -0.9, -1.5]


@pytest.fixture
def twelve(tmp_path: Path) -> Path:
    """Twelve bars about a 4 oz label."""
    path = tmp_path / "bars.csv"
    path.write_text("net_g\n" + "\n".join(f"{113.398 + e:.3f}" for e in ERRORS), encoding="utf-8")
    return path


def test_the_record_shows_every_figure(twelve: Path) -> None:
    """Errors, total, average, s, factor, SEL, MAV and both findings stand on the page."""
    made = check_net_weight(twelve, Decimal("113.398"), 120, market="us-soap", on=DAY)
    text = record_text(made, by="Ann")
    for figure in ("-6.6 g", "-0.55 g", "0.875422 g", "0.635", "0.555893 g", "7.2 g", "passes"):
        assert figure in text
    assert "Weighed by: Ann" in text
    assert all(len(line) <= 80 for line in text.splitlines())


def test_the_market_chooses_the_method(twelve: Path) -> None:
    """HB 133 in the United States, the reference test in Europe, none for Canada unless named."""
    assert check_net_weight(twelve, Decimal(112), 12, market="eu", on=DAY).method == "reference"
    with pytest.raises(BadInput, match="ca"):
        check_net_weight(twelve, Decimal(112), 12, market="ca", on=DAY)
    named = check_net_weight(twelve, Decimal(112), 12, market="ca", on=DAY, method="hb133")
    assert named.method == "hb133"


def test_a_coarse_scale_is_told(twelve: Path) -> None:
    """A 5 g step is over a sixth of the MAV."""
    made = check_net_weight(twelve, Decimal(113), 120, market="us-soap", on=DAY, step_g=Decimal(5))
    assert "TOO COARSE" in made.figures["Scale step"]


def test_the_reference_test_takes_no_allowance(twelve: Path) -> None:
    """The average-quantity system knows no moisture allowance."""
    with pytest.raises(BadInput):
        check_net_weight(
            twelve, Decimal(113), 12, market="eu", on=DAY, allowance_percent=Decimal(3)
        )


def test_a_missing_file_is_told_in_one_line(tmp_path: Path) -> None:
    """No such file, and its path."""
    with pytest.raises(NotFound, match=r"none\.csv"):
        check_net_weight(tmp_path / "none.csv", Decimal(113), 12, market="eu", on=DAY)
