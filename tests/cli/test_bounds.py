"""Each number that an option takes has its bounds at the door; the list of commands names them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.fuzz.lines import commands
from tests.ledger.test_both_databases import LINES, TODAY, name_of, words_of

ODD = ("-1", "9" * 20, "nan")


def number_options() -> list[tuple[str, str]]:
    """Each command and option whose value is a number, with a line that the command takes."""
    known = {name_of(line): line for line in reversed(LINES)}
    return [
        (known[" ".join(words)], param.opts[0])
        for words, params in commands()
        for param in params
        if param.param_type_name == "option"
        and set(repr(param.bare_type()).replace("'", " ").split()) & {"int", "float"}
        and " ".join(words) in known
    ]


def test_there_are_number_options() -> None:
    """The search finds them."""
    options = {(name_of(line), option) for line, option in number_options()}
    assert len(options) > 25
    assert ("weigh", "--bars") in options
    assert ("pour", "--rh") in options


@pytest.mark.parametrize("at", ODD)
def test_no_odd_number_is_taken(at: str, demo_shop: Path, run: Any, tmp_path: Path) -> None:
    """It is refused in a line, and nothing is entered."""
    (tmp_path / "run.csv").write_text("lot,copies\nDRF-26241-AZ,2\n", encoding="utf-8")
    (tmp_path / "bars.csv").write_text("net_g\n114\n113.5\n115\n", encoding="utf-8")
    before = (demo_shop / "ledger.db").read_bytes()
    wrong = []
    for line, option in number_options():
        told = run("--shop", demo_shop, *TODAY, *words_of(line, tmp_path), f"{option}={at}")
        if told.code not in (2, 3, 4) or "unexpected" in told.err:
            wrong.append((line, option, told.code, told.err))
    assert wrong == []
    assert (demo_shop / "ledger.db").read_bytes() == before
