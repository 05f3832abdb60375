"""`fat list` and `fat show`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from soapstock.desk.ingredients import canonical, is_known

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


def test_every_name_that_is_listed_is_taken(run: Any, tmp_path: Path) -> None:
    """By `materials` a maker finds what to type; a word narrows the list."""
    rows = json.loads(run("materials", "--json").out)
    assert {"beef-tallow", "kaolin", "naoh", "lavender-oil"} <= {row["name"] for row in rows}
    for row in rows:
        for name in (row["name"], *row["also"]):
            assert is_known(canonical(name)), name
    found = run("materials", "clay").out
    assert "kaolin" in found
    assert "lavender" not in found
    assert "none with 'zzz' in a name" in run("materials", "zzz").out
