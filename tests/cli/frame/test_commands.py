"""The one list of commands: its files hold them, its sentences stand nowhere else."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from soapstock import cli
from soapstock.cli.frame.commands import COMMANDS, GROUPS, HEADINGS, made

FILES = [path for path in Path(cli.__file__).parent.glob("*.py") if path.stem != "__init__"]


def functions(path: Path) -> dict[str, ast.FunctionDef]:
    """The functions of a file that others may call, by name."""
    body = ast.parse(path.read_text(encoding="utf-8")).body
    return {f.name: f for f in body if isinstance(f, ast.FunctionDef) and f.name[0] != "_"}


def function_of(name: str) -> str:
    """The function of a command."""
    return name.replace(" ", "_").replace("-", "_")


def test_every_file_holds_a_listed_command() -> None:
    """A file of `cli` without a command, or a listed file that is not there, is a mistake."""
    assert {file for file, _ in COMMANDS.values()} == {path.stem for path in FILES}


@pytest.mark.parametrize("name", COMMANDS)
def test_a_listed_command_exists_in_its_file(name: str) -> None:
    """It is made from the function of its name, and its help begins with its sentence."""
    file, line = COMMANDS[name]
    command = made(name)
    assert command.callback.__module__ == f"soapstock.cli.{file}"
    assert command.callback.__name__ == function_of(name)
    assert command.name == name.rsplit(maxsplit=1)[-1]
    assert command.help.startswith(line)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_helper_says_what_it_does(path: Path) -> None:
    """A public function that is no listed command has its docstring."""
    listed = {function_of(name) for name, (file, _) in COMMANDS.items() if file == path.stem}
    for name, function in functions(path).items():
        if name not in listed:
            assert ast.get_docstring(function), f"{path.name}: {name} has no docstring"


def test_no_sentence_is_said_twice() -> None:
    """A docstring does not repeat the list."""
    texts = {path: path.read_text(encoding="utf-8") for path in FILES}
    said = [
        (line, path.name) for _, line in COMMANDS.values() for path in FILES if line in texts[path]
    ]
    assert said == []


def test_each_command_stands_under_one_heading() -> None:
    """`--help` lists every command and group once."""
    under = " ".join(HEADINGS.values()).split()
    assert sorted(under) == sorted({name.split()[0] for name in COMMANDS})
    assert {name.split()[0] for name in COMMANDS if " " in name} == set(GROUPS)


@pytest.mark.parametrize("words", [[], *([group] for group in GROUPS)], ids="-".join)
def test_no_sentence_is_cut_at_eighty_columns(words: list[str], run: Any) -> None:
    """What a command does is read in one line of the list."""
    told = run(*words, "--help")
    assert "..." not in told.out.split("COMMAND [ARGS]...")[-1]
    assert all(len(line) <= 80 for line in told.out.splitlines())


def test_help_imports_no_commands_file() -> None:
    """Listing the commands reads none of their files, nor anything they need."""
    code = (
        "import sys\n"
        "sys.argv = ['soapstock', '--help']\n"
        "from soapstock.__main__ import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "print(*sorted(sys.modules))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    there = done.stdout.splitlines()[-1].split()
    files = {f"soapstock.cli.{path.stem}" for path in FILES}
    heavy = {"numpy", "sqlalchemy", "rich", "pydantic", *files}
    assert "soapstock.cli.frame.commands" in there
    assert not heavy & set(there)
