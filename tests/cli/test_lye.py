"""`lye`: a solution before it is mixed."""

from __future__ import annotations

import json
from typing import Any

import pytest


def test_lye_shows_the_peak_and_the_cautions(run: Any) -> None:
    """150 g in 300 g at 20 C: about 105 C; no loss is known without records."""
    told = run("lye", "--naoh", "150g", "--water", "300g")
    assert told.code == 0
    assert "105 °C" in told.out
    assert "never water to lye" in told.out
    assert "not known: record --peak" in told.out


def test_ice_lowers_the_peak(run: Any) -> None:
    """75 of the 300 g as ice: at least 20 degrees colder."""
    plain = json.loads(run("lye", "--naoh", "150g", "--water", "300g", "--json").out)
    iced = json.loads(run("lye", "--naoh", "150g", "--water", "225g", "--ice", "75g", "--json").out)
    assert iced["peak_c"] < plain["peak_c"] - 20


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--naoh", "150", "--water", "300g"], "has no unit"),
        (["--naoh", "-1g", "--water", "300g"], "negative"),
        (["--water", "300g"], "needs lye and water"),
        (["--naoh", "150g", "--water", "300g", "--start", "99C"], "start temperature"),
        (["--naoh", "150g", "--water", "300g", "--ready", "20"], "more water"),
    ],
)
def test_bad_lye_input_is_one_clear_line(run: Any, words: list[str], says: str) -> None:
    """What is wrong, and exit code 2."""
    told = run("lye", *words)
    assert told.code == 2
    assert says in told.err
    assert "Traceback" not in told.err


def test_diluting_ready_lye_is_told_with_its_own_heat(run: Any) -> None:
    """150 g NaOH in 300 g water from bought 50 % lye: about 52 C, not the 104 C of dry lye."""
    words = ("lye", "--naoh", "150g", "--water", "300g", "--json")
    dry = json.loads(run(*words).out)
    ready = json.loads(run(*words, "--ready", "50").out)
    assert dry["peak_c"] == pytest.approx(104.5, abs=0.5)
    assert ready["peak_c"] == pytest.approx(52.4, abs=0.5)
    assert (ready["ready_solution_g"], ready["more_water_g"]) == (300, 150)
