"""What is printed for people is obeyed by no terminal."""

from __future__ import annotations

import pytest

from soapstock.cli.frame.output import say, say_notes, table


def test_no_escape_sequence_reaches_the_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    """A name may hold anything; a paragraph, a note and a cell show it instead of obeying it."""
    bad = "Drift\x1b[2J\x9b1mwood\x07\x7f"
    say(bad)
    say_notes([bad])
    table("Names", ["Name"], [[bad]])
    out = capsys.readouterr().out
    assert out.count("\\x1b[2J\\x9b1mwood\\x07\\x7f") == 3
    assert not set("\x1b\x9b\x07\x7f") & set(out)
