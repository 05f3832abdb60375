"""What is told of the shop's faces before anything is printed."""

import pytest

from soapstock.desk.desk import Desk
from soapstock.papers.designs import name_note


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("石けん", "no character '石' (U+77F3"),
        ("שמן", "no character"),
        ("\U0001f9fc Bar", "(U+1F9FC, BAR OF SOAP)"),
        ("W" * 60, "wider"),
    ],
)
def test_a_name_no_face_can_hold_is_told(desk: Desk, name: str, said: str) -> None:
    """The character, or the word that is too wide, before anything is poured under the name."""
    note = name_note(desk, name)
    assert note is not None
    assert said in note
    assert "no face of the shop holds it" in note


def test_a_name_the_shop_s_face_cannot_hold_is_told_with_those_that_can(desk: Desk) -> None:
    """A long name on the shop's panel; another face has more room for it."""
    assert name_note(desk, "Driftwood") is None
    note = name_note(desk, "Winter driftwood of the outer bank and salt " * 4)
    assert note is not None
    assert note.startswith("On face 'panel' the name")
    assert "it fits on: " in note
