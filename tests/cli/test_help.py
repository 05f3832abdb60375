"""Every command has help, its help is kept as a file, and the README names it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import typer

from soapstock.cli.frame.app import app
from tests.conftest import CHECKOUT, Told

GOLDEN = CHECKOUT / "tests" / "golden" / "help"


def commands(node: Any, words: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """The words of every command that does something."""
    inner = getattr(node, "commands", None)
    if inner:
        for name, child in sorted(inner.items()):
            yield from commands(child, (*words, name))
    else:
        yield words


ALL = list(commands(typer.main.get_command(app)))


@pytest.mark.parametrize("words", ALL, ids=" ".join)
def test_help_is_the_text_kept(words: tuple[str, ...], run: Any, update_golden: bool) -> None:
    """A command's help equals its kept text; refresh with --update-golden and read the diff."""
    told: Told = run(*words, "--help")
    assert told.code == 0
    kept = GOLDEN / f"{'-'.join(words)}.txt"
    if update_golden:
        kept.write_text(told.out, encoding="utf-8")
    assert kept.read_text(encoding="utf-8") == told.out


@pytest.mark.parametrize("words", ALL, ids=" ".join)
def test_help_says_what_the_command_does(words: tuple[str, ...], run: Any) -> None:
    """A command's help has a sentence after its usage line."""
    lines = [line.strip() for line in run(*words, "--help").out.splitlines() if line.strip()]
    assert lines[1].endswith((".", ",")) or len(lines[1]) > 30


@pytest.mark.parametrize("words", ALL, ids=" ".join)
def test_the_readme_names_the_command(words: tuple[str, ...]) -> None:
    """README.md shows each command."""
    readme = Path(CHECKOUT / "README.md").read_text(encoding="utf-8")
    assert f"soapstock {' '.join(words)}" in readme


def test_no_help_file_is_left_over() -> None:
    """Every kept help text belongs to a command."""
    assert {p.stem for p in GOLDEN.glob("*.txt")} == {"-".join(words) for words in ALL}
