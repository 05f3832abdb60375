"""`fat`, `lye`, and the recipe commands that change what goes into the pot."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

OWN_FAT = """\
[[fats]]
key = "emu"
name = "Emu oil"
inci = "Emu Oil"
sv_low = 185
sv_high = 200
source = "supplier paper"
"""


def test_fat_show_says_which_source_is_used_and_why(run: Any) -> None:
    """Several sources stand side by side; no shop is needed."""
    told = run("fat", "show", "beef-tallow")
    assert told.code == 0
    assert "Codex CXS 211-1999" in told.out
    assert "Malaysia Food Regulations" in told.out
    assert "used: widest official range" in " ".join(told.out.split())


def test_fat_list_is_json_too(run: Any) -> None:
    """One record a fat."""
    rows = json.loads(run("fat", "list", "--json").out)
    assert len(rows) >= 45
    assert {"fat", "sv_low", "sv_high", "confidence"} <= rows[0].keys()


def test_a_shops_own_fat_is_listed(run: Any, new_shop: Path) -> None:
    """From fats.toml in its folder."""
    (new_shop / "fats.toml").write_text(OWN_FAT)
    told = run("--shop", new_shop, "fat", "show", "emu")
    assert told.code == 0
    assert "Emu oil" in told.out
    assert run("fat", "show", "emu").code == 3


def test_a_broken_own_fat_names_its_line(run: Any, new_shop: Path) -> None:
    """Line 5, the SV."""
    (new_shop / "fats.toml").write_text(OWN_FAT.replace("185", '"185"'))
    told = run("--shop", new_shop, "fat", "list")
    assert told.code == 2
    assert "fats.toml:5: fats[1].sv_low" in told.err


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


def test_practice_shows_the_superfat_it_really_gives(run: Any, demo_shop: Path) -> None:
    """Lye scaled by the tallow, the coconut poured short."""
    told = run(
        "--shop",
        demo_shop,
        "recipe",
        "practice",
        "DRF",
        "--by",
        "tallow=1320g",
        "--poured",
        "coconut=350g",
        "--json",
    )
    record = json.loads(told.out)
    assert record["verdict"] == "refuse"
    assert record["naoh_should_be_g"] < record["naoh_g"]
    assert record["cautions"]


def test_swap_keeps_the_lye(run: Any, demo_shop: Path) -> None:
    """Sunflower for olive."""
    words = ("--fat", "2kg", "--out", "olive", "--in", "sunflower")
    told = run("--shop", demo_shop, "recipe", "swap", "DRF", *words, "--json")
    record = json.loads(told.out)
    assert record["superfat_percent"]["nominal"] == pytest.approx(5.0, abs=0.3)
    assert record["order_after"][-1] == "sunflower"


def test_mould_says_how_many_bars(run: Any, demo_shop: Path) -> None:
    """300 x 90 x 60 mm."""
    words = ("--inside", "30cm x 9cm x 6cm", "--count", "2", "--json")
    record = json.loads(run("--shop", demo_shop, "recipe", "mould", "DRF", *words).out)
    assert record["volume_ml"] == pytest.approx(3240)
    assert record["bars"] == 24


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["recipe", "mould", "DRF", "--inside", "30cm"], 2, "1 sizes"),
        (["recipe", "swap", "DRF", "--fat", "2kg", "--out", "olive", "--in", "oliv"], 3, "no fat"),
        (["recipe", "swap", "DRF", "--fat", "2kg", "--out", "shea", "--in", "olive"], 2, "shea"),
        (["recipe", "practice", "DRF", "--by", "tallow"], 2, "not understood"),
        (["recipe", "practice", "XYZ", "--by", "tallow=1kg"], 3, "no recipe XYZ"),
    ],
)
def test_bad_input_is_one_clear_line(
    run: Any, demo_shop: Path, words: list[str], code: int, says: str
) -> None:
    """The exit code says which kind, the line what and how to mend it."""
    told = run("--shop", demo_shop, *words)
    assert told.code == code
    assert says in told.err
    assert "Traceback" not in told.err


def test_composition_shows_the_soaps_and_the_fat_left(run: Any, demo_shop: Path) -> None:
    """After an eighth was lost by drying."""
    told = run("--shop", demo_shop, "recipe", "composition", "DRF", "--fat", "2kg", "--lost", "12")
    assert told.code == 0, told.err
    assert "Sodium Tallowate" in told.out
    assert "Beef tallow, left over" in told.out
    assert "total fatty matter" in told.out


def test_diluting_ready_lye_is_told_with_its_own_heat(run: Any) -> None:
    """150 g NaOH in 300 g water from bought 50 % lye: about 52 C, not the 104 C of dry lye."""
    words = ("lye", "--naoh", "150g", "--water", "300g", "--json")
    dry = json.loads(run(*words).out)
    ready = json.loads(run(*words, "--ready", "50").out)
    assert dry["peak_c"] == pytest.approx(104.5, abs=0.5)
    assert ready["peak_c"] == pytest.approx(52.4, abs=0.5)
    assert (ready["ready_solution_g"], ready["more_water_g"]) == (300, 150)
