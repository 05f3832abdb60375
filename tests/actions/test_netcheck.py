"""The net-weight check of a file, and its record."""

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from soapstock.actions.netcheck import check_net_weight, record_text
from soapstock.errors import BadInput, NotFound

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
    assert "TOO COARSE" in dict(made.figures)["Scale step"]


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


@pytest.fixture
def sample(tmp_path: Path) -> Path:
    """Thirty bars of 113 g, two of them short by more than the TNE."""
    path = tmp_path / "first.csv"
    path.write_text("net_g\n107\n106.5\n" + "114\n" * 28, encoding="utf-8")
    return path


def test_an_open_first_sample_asks_for_the_second(sample: Path) -> None:
    """Neither passed nor failed: so many bars more, and the record says so."""
    made = check_net_weight(
        sample, Decimal(113), 300, market="eu", on=DAY, method="reference-double"
    )
    assert (made.passes, made.more) == (False, 30)
    text = record_text(made)
    assert "not decided yet: draw 30 bars more" in text
    assert "bar 1: 107  bar 2: 106.5" in text
    assert all(len(line) <= 80 for line in text.splitlines())


def test_the_second_sample_comes_in_its_own_file(sample: Path, tmp_path: Path) -> None:
    """Naming it is enough to choose the method; both counts stand on the record."""
    second = tmp_path / "second.csv"
    second.write_text("net_g\n107\n" + "114\n" * 29, encoding="utf-8")
    made = check_net_weight(sample, Decimal(113), 300, market="uk", on=DAY, second=second)
    figures = dict(made.figures)
    assert (made.method, made.passes, made.more) == ("reference-double", True, 0)
    assert figures["Defective in both samples"] == "3"
    assert "not read" in figures["Not sure"]


def test_samples_of_other_sizes_are_refused(sample: Path) -> None:
    """Thirty and two are not thirty and thirty."""
    sample.with_name("two.csv").write_text("net_g\n114\n114\n", encoding="utf-8")
    with pytest.raises(BadInput, match="30 and 2"):
        check_net_weight(
            sample, Decimal(113), 300, market="eu", on=DAY, second=sample.with_name("two.csv")
        )


def test_a_second_sample_belongs_to_its_method_alone(sample: Path) -> None:
    """HB 133 and the single plan know none."""
    for method in ("hb133", "reference"):
        with pytest.raises(BadInput, match="second sample"):
            check_net_weight(
                sample, Decimal(113), 300, market="eu", on=DAY, method=method, second=sample
            )
