"""What the program writes replaces only what may be replaced, from the list of commands itself."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import typer

from soapstock.cli.frame.app import app
from soapstock.errors import BadInput
from soapstock.outfile import replacing

WRITES = {"--out", "--pdf", "--png", "--sheet", "--pick", "--slip", "--customers"}
NO_FILE = {("label", "--sheet"), ("label-run", "--sheet"), ("recipe swap", "--out")}
LOT = "DRF-26241-AZ"
# a command line for each option that names a file to be written
LINES = {
    ("card", "--out"): ["card", LOT],
    ("label", "--out"): ["label", LOT],
    ("label-run", "--out"): ["label-run", "run.csv"],
    ("record", "--out"): ["record", LOT],
    ("cure", "--pdf"): ["cure", LOT],
    ("cure", "--png"): ["cure", LOT],
    ("rack", "--pdf"): ["rack"],
    ("design calibrate", "--out"): ["design", "calibrate", "letter-2x3"],
    ("recipe scale", "--sheet"): ["recipe", "scale", "EBB", "--fat", "1kg"],
    ("order pack", "--pick"): ["order", "pack", "HS-41"],
    ("order pack", "--slip"): ["order", "pack", "HS-41", "--pick", "pick.pdf"],
    ("recall", "--customers"): ["recall", LOT],
    ("check net-weight", "--out"): [
        "check", "net-weight", "bars.csv", "--declared", "113g", "--lot-size", "3"
    ],
}  # fmt: skip


def options(command: Any, words: str = "") -> Iterator[tuple[str, str]]:
    """Every command and option that names a file to be written."""
    context = typer.Context(command)
    if hasattr(command, "list_commands"):
        for name in command.list_commands(context):
            yield from options(command.get_command(context, name), f"{words} {name}".strip())
    else:
        for parameter in command.params:
            yield from ((words, name) for name in WRITES & set(parameter.opts))


def test_every_option_that_writes_a_file_is_tried_below() -> None:
    """A new one is covered, or this fails."""
    assert set(options(typer.main.get_command(app))) - NO_FILE == set(LINES)


@pytest.mark.parametrize(
    "target", ["ledger.db", "ledger.db-wal", "shop.toml", "folder.pdf", "l.pdf"]
)
@pytest.mark.parametrize("line", LINES, ids=" ".join)
def test_no_output_goes_over_the_ledger_or_the_shop(
    demo_shop: Path,
    run: Callable[..., Any],
    line: tuple[str, str],
    target: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Exit 2, one line, and every file is as it was."""
    monkeypatch.chdir(demo_shop)
    Path("run.csv").write_text(f"lot,copies\n{LOT},1\n", encoding="utf-8")
    Path("bars.csv").write_text("net_g\n113.6\n114.1\n113.2\n", encoding="utf-8")
    Path("folder.pdf").mkdir()
    Path("l.pdf").symlink_to("ledger.db")
    before = {p.name: p.read_bytes() for p in demo_shop.iterdir() if p.is_file()}
    words = ["--shop", ".", "--today", "2026-11-20", *LINES[line], line[1], target]
    told = run(*words)
    assert told.code == 2, told.err
    after = {p.name: p.read_bytes() for p in demo_shop.iterdir() if p.is_file()}
    after.pop("pick.pdf", None)
    assert after == before


def test_a_file_is_for_whom_the_umask_and_the_folder_say(tmp_path: Path) -> None:
    """Never wider than either."""
    for umask, folder, wanted in (
        (0o022, 0o755, 0o644),
        (0o077, 0o755, 0o600),
        (0o022, 0o700, 0o600),
    ):
        there = tmp_path / f"{umask:o}-{folder:o}"
        there.mkdir()
        there.chmod(folder)
        kept = os.umask(umask)
        try:
            with replacing(there / "a.csv", ".csv") as temporary:
                temporary.write_text("x", encoding="utf-8")
        finally:
            os.umask(kept)
        assert (there / "a.csv").stat().st_mode & 0o777 == wanted


def test_a_pipe_and_a_ledger_by_another_name_are_not_replaced(tmp_path: Path) -> None:
    """Neither a fifo nor a database called out.pdf."""
    os.mkfifo(tmp_path / "pipe.pdf")
    (tmp_path / "book.pdf").write_bytes(b"SQLite format 3\0 and more")
    for name, said in (("pipe.pdf", "not a plain file"), ("book.pdf", "is a ledger")):
        with pytest.raises(BadInput, match=said), replacing(tmp_path / name, ".pdf"):
            pass


def test_what_fails_half_way_leaves_the_old_file(tmp_path: Path) -> None:
    """And nothing beside it."""
    (tmp_path / "a.csv").write_text("old", encoding="utf-8")
    with pytest.raises(UnicodeEncodeError), replacing(tmp_path / "a.csv", ".csv") as temporary:
        temporary.write_text("new \udc80", encoding="utf-8")
    assert [(p.name, p.read_text(encoding="utf-8")) for p in tmp_path.iterdir()] == [
        ("a.csv", "old")
    ]
