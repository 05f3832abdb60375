"""When a blend of fats begins to set."""

from __future__ import annotations

import pytest

from soapstock.chemistry.fats import all_fats
from soapstock.chemistry.setting import _diluted_c, begins_to_set


def test_dilution_is_ideal_solubility() -> None:
    """Naphthalene (melts at 80.2 C, 19.06 kJ/mol): mole fraction 0.30 dissolves at 25 C.

    Atkins and de Paula, Physical Chemistry, ideal solubility of a solid, from memory.
    """
    assert _diluted_c(80.2, 0.30, 19.06) == pytest.approx(25.0, abs=1.0)


@pytest.mark.parametrize("key", ["coconut", "lard", "palm", "cocoa-butter"])
def test_a_fat_alone_sets_within_its_own_range(key: str) -> None:
    """By its published melting range, and a little under it as it is cooled."""
    known = all_fats()[key].figure("melting_range")
    found = begins_to_set(all_fats(), {key: 700.0})
    assert known is not None
    assert found is not None
    assert known.low is not None
    assert (found.high_c, found.by) == (pytest.approx(known.high), key)
    assert known.low - 6.0 < found.low_c < known.low


def test_oil_lowers_it_and_never_below_the_softer_fat_alone() -> None:
    """Less tallow sets later; the fat that sets first is named; wide on purpose."""
    ends = [
        begins_to_set(all_fats(), {"beef-tallow": tallow, "olive": 100.0 - tallow})
        for tallow in (90.0, 60.0, 30.0)
    ]
    highs = [end.high_c for end in ends if end is not None]
    assert highs == sorted(highs, reverse=True)
    assert all(end is not None and end.by == "beef-tallow" for end in ends)
    assert all(end is not None and end.high_c - end.low_c > 8.0 for end in ends)


def test_what_no_table_knows_is_said() -> None:
    """And a blend of nothing known has no answer."""
    found = begins_to_set(all_fats(), {"lard": 500.0, "yak-butter": 500.0})
    assert found is not None
    assert found.unknown == ("yak-butter",)
    assert begins_to_set(all_fats(), {"yak-butter": 500.0}) is None
