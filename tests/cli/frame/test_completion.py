"""What the shell offers when Tab is pressed: commands, lots and recipes, and never an error."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from typer.testing import CliRunner

from soapstock.cli.frame.app import app

LOT = "DRF-26241-AZ"


def offered(*words: object) -> list[str]:
    """What bash is offered for the last of the words."""
    typed = ["soapstock", *map(str, words)]
    told = CliRunner().invoke(
        app,
        [],
        prog_name="soapstock",
        env={
            "_SOAPSTOCK_COMPLETE": "complete_bash",
            "COMP_WORDS": "\n".join(typed),
            "COMP_CWORD": str(len(typed) - 1),
        },
    )
    assert told.stderr == ""
    return told.stdout.split()


def test_commands_are_offered() -> None:
    """Commands, and those within a group."""
    assert offered("cur") == ["curing", "cure"]
    assert {"add", "scale", "swap"} <= set(offered("recipe", ""))


@pytest.mark.parametrize(
    ("typed", "whole"),
    [
        ("DRF-26241", LOT),
        ("DRF-26241-", LOT),
        ("drf26241", "drf26241-AZ"),
        ("drf-26241-", "drf-26241-AZ"),
    ],
)
@pytest.mark.parametrize("command", ["scan", "follow", "card", "entries", "weigh"])
def test_lots_are_offered_as_printed(demo_once: Path, command: str, typed: str, whole: str) -> None:
    """However their beginning is typed: a shell drops what does not begin as typed."""
    assert offered("--shop", demo_once, command, typed) == [whole]


def test_recipes_are_offered(demo_once: Path) -> None:
    """Wherever a recipe's code is asked for."""
    assert offered("--shop", demo_once, "recipe", "scale", "DR") == ["DRF"]
    assert offered("--shop", demo_once, "recipe", "scale", "dr") == ["drF"]
    assert len(offered("--shop", demo_once, "pour", "")) > 3


def no_shop(folder: Path) -> None:
    """Leave the folder empty."""


def broken_settings(folder: Path) -> None:
    """Settings that are not TOML."""
    (folder / "shop.toml").write_text("maker = ", encoding="utf-8")


def no_ledger(folder: Path) -> None:
    """A shop whose ledger is not there."""
    (folder / "shop.toml").write_text('maker = "Heronwick Saltings"\n', encoding="utf-8")


@pytest.mark.parametrize("prepare", [no_shop, broken_settings, no_ledger])
@pytest.mark.parametrize("words", [["scan", ""], ["pour", ""]])
def test_nothing_is_offered_and_nothing_made_on_an_error(
    tmp_path: Path, prepare: Callable[[Path], None], words: list[str]
) -> None:
    """A shell that prints an error into the line being typed is worse than one that is silent."""
    prepare(tmp_path)
    before = sorted(tmp_path.rglob("*"))
    assert offered("--shop", tmp_path, *words) == []
    assert sorted(tmp_path.rglob("*")) == before


def test_a_ledger_is_only_read(demo_once: Path) -> None:
    """The file is the same to the byte."""
    ledger = next(demo_once.glob("*.db"))
    before = ledger.read_bytes()
    assert offered("--shop", demo_once, "scan", "D")
    assert ledger.read_bytes() == before


def test_bash_takes_the_script() -> None:
    """What --show-completion prints is a program that bash accepts."""
    script = (
        "import sys; sys.argv=['soapstock','--show-completion','bash'];"
        "from soapstock.__main__ import main; main()"
    )
    shown = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
        env={"_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION": "1", "PYTHONPATH": sys.path[0]},
    )
    assert "complete -o default" in shown.stdout
    read = subprocess.run(["bash", "-n"], input=shown.stdout, text=True, check=False, timeout=60)
    assert read.returncode == 0
