"""Signs by market, weight and day."""

from datetime import date

import pytest

from soapstock.errors import BadTable
from soapstock.labelling.symbols import (
    opened_text,
    parse_path,
    symbols_for,
)

DAY = date(2026, 11, 25)


def test_the_eu_knows_four_signs_and_the_united_states_none() -> None:
    """Hourglass, open jar, hand on book, e-mark."""
    assert {one.key for one in symbols_for("eu", DAY)} == {
        "hourglass",
        "open-jar",
        "hand-on-book",
        "e-mark",
    }
    assert symbols_for("us-soap", DAY) == ()


def test_months_stand_beside_the_jar() -> None:
    """12M."""
    assert opened_text(12) == "12M"


def test_a_drawn_sign_fills_its_square_and_stays_in_it() -> None:
    """Three signs are paths that reach over most of the square; the e-mark is a character."""
    for symbol in symbols_for("eu", DAY):
        if symbol.character:
            assert symbol.paths == ()
            continue
        ends = [step.points[-1] for path in symbol.paths for step in path.steps if step.points]
        assert max(y for _, y in ends) - min(y for _, y in ends) > 80
        assert max(x for x, _ in ends) - min(x for x, _ in ends) > 60


@pytest.mark.parametrize(
    ("text", "paint"),
    [
        ("L 1 1", "fill"),
        ("M 1", "fill"),
        ("M 1 x", "fill"),
        ("M 1 101", "fill"),
        ("M 1 1 Q 2 2", "fill"),
        ("", "fill"),
        ("M 1 1", "spray"),
    ],
)
def test_a_broken_path_is_a_bad_table(text: str, paint: str) -> None:
    """A slip in the drawing is named, not drawn."""
    with pytest.raises(BadTable):
        parse_path(text, paint)
