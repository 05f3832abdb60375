"""Looking up fats."""

from __future__ import annotations

from pathlib import Path

import pytest

from soapstock.desk.own_fats_file import load_own_fats
from soapstock.errors import NotFound
from soapstock.views.fats import fat_sheet, list_fats

OWN = '[[fats]]\nkey = "emu"\nname = "Emu oil"\ninci = "Emu Oil"\nsv_low = 185\nsv_high = 200\n'


def test_a_record_holds_every_source(tmp_path: Path) -> None:
    """Several ranges, one chosen, with a reason."""
    load_own_fats(tmp_path)
    rows = [r for r in fat_sheet("olive").figures if r.figure == "saponification_value"]
    assert len(rows) > 1
    assert [r.why != "" for r in rows if r.chosen] == [True]


def test_own_fats_come_and_go_with_their_shop(tmp_path: Path) -> None:
    """The next shop does not inherit them."""
    (tmp_path / "fats.toml").write_text(OWN + 'source = "paper"\n')
    assert len(load_own_fats(tmp_path)) == 1
    assert fat_sheet("emu").name == "Emu oil"
    assert load_own_fats(None) == ()
    assert "emu" not in [row.fat for row in list_fats()]
    with pytest.raises(NotFound):
        fat_sheet("emu")
