"""Wrapping and fitting by measured width."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.render.pdf.fonts import get_font, tracked
from soapstock.render.pdf.text import TooWideError, fit, wrap

FONT = get_font("regular")
WORDS = st.lists(
    st.text("abcdefghijklmnopqrstuvwxyz,", min_size=1, max_size=9), min_size=1, max_size=40
)


@given(words=WORDS, width=st.floats(25, 120))
def test_no_line_is_wider_than_its_box_and_no_word_is_lost(words: list[str], width: float) -> None:
    """Whatever the words and the width, lines fit and joined again give the text."""
    lines = wrap(" ".join(words), FONT, 9, width)
    assert all(FONT.width_mm(line, 9) <= width + 1e-6 for line in lines)
    assert " ".join(lines) == " ".join(words)


@given(words=WORDS, width=st.floats(25, 120), tracking=st.sampled_from([0.0, 0.2]))
def test_evened_lines_are_no_more_and_no_wider(
    words: list[str], width: float, tracking: float
) -> None:
    """Evening costs no line, keeps every word, and leaves the longest line no longer."""
    text, font = " ".join(words), tracked(FONT, tracking)
    try:
        full = wrap(text, font, 9, width)
    except TooWideError:
        return
    lines = wrap(text, font, 9, width, even=True)
    assert len(lines) == len(full)
    assert " ".join(lines) == text
    assert max(font.width_mm(line, 9) for line in lines) <= width + 1e-6


@pytest.mark.parametrize(
    ("text", "width", "lines"),
    [
        (
            "Mutton tallow, Water, Olive oil, Coconut oil, Sodium hydroxide, Castor oil, Rosemary"
            " essential oil, Sea salt",
            45,
            [
                "Mutton tallow, Water,",
                "Olive oil, Coconut oil,",
                "Sodium hydroxide, Castor oil,",
                "Rosemary essential oil, Sea salt",
            ],
        ),
        (
            "Made by Heronwick Saltings, 4 Saltings Lane, Heronwick, ME 04000",
            48,
            ["Made by Heronwick Saltings,", "4 Saltings Lane,", "Heronwick, ME 04000"],
        ),
        (
            "Poured 8 Sep 2026, cured 35 days or more",
            30,
            ["Poured 8 Sep 2026,", "cured 35 days or more"],
        ),
    ],
)
def test_no_word_stands_alone_on_the_last_line(text: str, width: float, lines: list[str]) -> None:
    """Lists and addresses end their lines after commas where that costs little."""
    assert wrap(text, FONT, 9, width, even=True) == lines


def test_a_word_wider_than_the_line_is_an_error_that_names_it() -> None:
    """It is never cut in the middle."""
    with pytest.raises(TooWideError, match="Butyrospermum"):
        wrap("Butyrospermum Parkii", FONT, 20, 20)


@pytest.mark.parametrize("width", [20, 29])
def test_a_mail_address_is_never_broken(width: float) -> None:
    """Neither at its sign nor at a dot: a reader would take the line's end for a part of it."""
    with pytest.raises(TooWideError, match="hello@heronwick"):
        wrap("hello@heronwick.example", FONT, 9, width)
    assert wrap("write hello@heronwick.example", FONT, 9, 36)[-1] == "hello@heronwick.example"


def test_nothing_is_broken_at_a_dot_but_a_path_is_at_its_strokes() -> None:
    """A web address too long for a line is parted after a stroke."""
    lines = wrap("heronwick.example/lots/driftwood", FONT, 9, 36)
    assert "".join(lines) == "heronwick.example/lots/driftwood"
    assert all(line.endswith("/") for line in lines[:-1])


def test_widths_of_tracked_and_thickened_type_add_up() -> None:
    """Lines of either are no wider than measured whole, and break no earlier than they must."""
    for font in (get_font("condensed"), tracked(get_font("semibold"), 0.2)):
        text = "Net Wt 3.98 oz"
        width = font.width_mm(text, 12)
        assert wrap(text, font, 12, width + 0.01) == [text]
        assert len(wrap(text, font, 12, width - 0.1)) == 2


def test_a_date_is_kept_together() -> None:
    """A line does not end between day and month when there is another place to end it."""
    width = FONT.width_mm("Best before 25", 10) + 0.5
    assert wrap("Best before 25 May 2028", FONT, 10, width)[0] == "Best before"


def test_a_number_stays_with_its_unit() -> None:
    """`113 g` is not parted at a line's end."""
    width = FONT.width_mm("about 113", 10) + 0.1
    assert wrap("about 113 g", FONT, 10, width) == ["about", "113 g"]


def test_text_shrinks_only_to_the_least_size() -> None:
    """What does not fit at the least size does not fit."""
    box = {"width_mm": 30.0, "height_mm": 4.0, "size_pt": 12.0}
    assert fit("word " * 12, FONT, min_size_pt=7, **box) is None
    fitted = fit("word word", FONT, min_size_pt=7, **box)
    assert fitted is not None
    assert 7 <= fitted.size_pt <= 12


def test_kept_lines_are_set_smaller_rather_than_broken() -> None:
    """An address line stays whole when a smaller allowed size lets it."""
    width = FONT.width_mm("Best before 25 May 2028", 7.5)
    box = {"width_mm": width, "height_mm": 20.0, "size_pt": 9.0, "min_size_pt": 7.0}
    broken = fit("Best before 25 May 2028", FONT, **box)
    kept = fit("Best before 25 May 2028", FONT, keep_lines=True, **box)
    assert broken is not None
    assert len(broken.lines) == 2
    assert kept is not None
    assert len(kept.lines) == 1


@pytest.mark.parametrize(
    ("text", "whole"),
    [
        ("Made by Heronwick Saltings, 4 Saltings Lane, Heronwick", "4 Saltings"),
        ("Made by Heronwick Saltings, Salzweg 12a, Heronwick", "Salzweg 12a"),
        ("Poured 29 Aug 2026, cured 35 days or more", "cured 35 days"),
    ],
)
def test_a_house_keeps_its_number_and_days_their_count(text: str, whole: str) -> None:
    """At whatever width there is room for them."""
    for width in range(25, 80):
        assert any(whole in line for line in wrap(text, FONT, 7.0, float(width))), width
