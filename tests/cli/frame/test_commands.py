"""The list of commands says what the files of `cli` register, no more and no less."""

from __future__ import annotations

import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest
from typer.core import TyperCommand

from soapstock import cli
from soapstock.cli.frame.commands import COMMANDS, registered

FILES = {
    path.stem
    for path in Path(cli.__file__).parent.glob("*.py")
    if hasattr(import_module(f"soapstock.cli.{path.stem}"), "register")
}


def test_every_file_with_commands_is_in_the_list() -> None:
    """A file that registers commands is named by one of them."""
    assert {file for files, _ in COMMANDS.values() for file in files.split()} == FILES


@pytest.mark.parametrize("files", sorted({files for files, _ in COMMANDS.values()}))
def test_a_files_commands_are_those_listed(files: str) -> None:
    """The names a file registers are the names listed for it."""
    assert set(registered(files)) == {
        name for name, (where, _) in COMMANDS.items() if where == files
    }


@pytest.mark.parametrize("name", COMMANDS)
def test_a_commands_line_is_the_start_of_its_help(name: str) -> None:
    """The line in the list is what the command's own help begins with."""
    files, line = COMMANDS[name]
    own = registered(files)[name]
    assert not own.hidden
    for room in (30, 66, 1000):
        listed = TyperCommand(name, help=line).get_short_help_str(room)
        assert listed == own.get_short_help_str(room)


def test_help_imports_no_commands_file() -> None:
    """Listing the commands reads none of their files, nor anything they need."""
    code = (
        "import sys\n"
        "sys.argv = ['soapstock', '--help']\n"
        "from soapstock.__main__ import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "print(*sorted(sys.modules))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    there = done.stdout.splitlines()[-1].split()
    heavy = {"numpy", "sqlalchemy", "rich", "pydantic", *(f"soapstock.cli.{f}" for f in FILES)}
    assert "soapstock.cli.frame.commands" in there
    assert not heavy & set(there)
