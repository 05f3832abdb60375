"""One house, several faces: no text below `cli` names an option, a command of ours or a button.

What mends an error is data (`errors.Mend`); each face has words for every key.
"""

from __future__ import annotations

import ast
import re
import string
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import get_args

import pytest

from soapstock import errors
from soapstock.cli.frame.commands import COMMANDS
from soapstock.cli.frame.mends import WORDS, help_of
from soapstock.errors import Mend, MendKey, RuleBroken, SoapstockError

PACKAGE = Path(__file__).parents[1] / "soapstock"
FACES = {"cli", "page"}
BELOW = sorted(
    path
    for path in PACKAGE.rglob("*.py")
    if path.relative_to(PACKAGE).parts[0] not in FACES
    and path.relative_to(PACKAGE).parts[0] not in {"__main__.py"}
)
OF_A_FACE = re.compile(
    r"(?<![\w-])--[a-z]"  # an option
    rf"|\bsoapstock (?:{'|'.join(map(re.escape, COMMANDS))})\b"  # a command
    r"|\b(?:press|click|tap) (?:on|the|here)\b|\bbutton\b"  # something to press
)
ERRORS = {
    name
    for name, found in vars(errors).items()
    if isinstance(found, type) and issubclass(found, SoapstockError)
} | {"NoRuleInForce", "NotWhole", "cannot_write"}


def texts(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line and text of every string in the code but docstrings; `{}` for what is filled in."""
    seen: set[ast.AST] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            seen.add(node.value)  # a docstring
        elif node in seen:
            continue
        elif isinstance(node, ast.JoinedStr):
            seen.update(part for part in node.values if isinstance(part, ast.Constant))
            yield node.lineno, _text(node)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.lineno, node.value


def _text(node: ast.expr) -> str:
    """The text of an expression, as far as it stands in the code."""
    if isinstance(node, ast.Constant):
        return str(node.value)
    if isinstance(node, ast.JoinedStr):
        return "".join(_text(part) for part in node.values)
    return "{}"


def calls(tree: ast.AST, names: set[str]) -> Iterator[ast.Call]:
    """The calls of functions or classes of these names."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in names:
            yield node


@cache
def parsed(path: Path) -> ast.AST:
    """The file's syntax tree."""
    return ast.parse(path.read_text(encoding="utf-8"))


def test_no_text_below_the_faces_names_an_option_a_command_or_a_button() -> None:
    """A phone page could show every text as it stands."""
    named = [
        f"{path.relative_to(PACKAGE)}:{line}: {text}"
        for path in BELOW
        for line, text in texts(parsed(path))
        if OF_A_FACE.search(text)
    ]
    assert not named, "say it as errors.Mend, or in plain words:\n" + "\n".join(named)


@pytest.mark.parametrize(
    "text",
    ["add --why", "see soapstock scan", "enter soapstock unmould first", "press the button"],
)
def test_the_words_of_a_face_are_known(text: str) -> None:
    """What the test above looks for, it finds."""
    assert OF_A_FACE.search(text)


@pytest.mark.parametrize(
    "text", ["install soapstock again", "weigh again", "1-2 bars", "a dash -- as printers say"]
)
def test_plain_words_are_let_through(text: str) -> None:
    """What any face may say is not refused."""
    assert not OF_A_FACE.search(text)


def test_an_error_is_a_line_not_a_sentence() -> None:
    """Messages and hints end without a full stop, so that a face can join them."""
    for call in (call for path in BELOW for call in calls(parsed(path), ERRORS)):
        for part in [*call.args[:1], *(k.value for k in call.keywords if k.arg == "hint")]:
            text = _text(part)
            assert not text.endswith((".", ";", ":", " ")) or text.endswith("..."), text


def test_every_key_has_words_and_every_words_a_key() -> None:
    """The command line can say every mend, and says none that nobody asks for."""
    used = {
        str(call.args[0].value)
        for path in BELOW
        for call in calls(parsed(path), {"Mend"})
        if isinstance(call.args[0], ast.Constant)
    }
    assert set(WORDS) == set(get_args(MendKey)) == used


def test_a_mend_carries_what_its_words_need() -> None:
    """Each value the words name is given, and none that they do not."""
    for call in (call for path in BELOW for call in calls(parsed(path), {"Mend"})):
        assert isinstance(call.args[0], ast.Constant), "a key stands in the code as it is"
        words = WORDS[call.args[0].value]  # type: ignore[index]  # mypy knows the keys already
        wanted = {name for _, name, _, _ in string.Formatter().parse(words) if name}
        assert {keyword.arg for keyword in call.keywords} == wanted, call.args[0].value


def test_help_is_the_hint_and_then_what_to_type() -> None:
    """Both in one line; either may be missing."""
    both = RuleBroken("it is wrong", hint="weigh again", mend=Mend("confirm"))
    assert help_of(both) == "weigh again; if it is right, add --sure"
    assert help_of(RuleBroken("it is wrong", hint="weigh again")) == "weigh again"
    assert help_of(RuleBroken("it is wrong", mend=Mend("name_place", place="rack"))) == (
        "add --from rack"
    )
    assert help_of(RuleBroken("it is wrong")) == ""


def test_an_error_within_a_file_keeps_what_mends_it() -> None:
    """The place is said before the message; class, hint and mend stay."""
    told = RuleBroken("it is wrong", hint="weigh", mend=Mend("confirm")).within("run.csv:3")
    assert isinstance(told, RuleBroken)
    assert (told.message, told.hint) == ("run.csv:3: it is wrong", "weigh")
    assert told.mend is not None
    assert told.mend.key == "confirm"
