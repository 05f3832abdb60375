"""Rectangles and boxes tied to edges."""

from __future__ import annotations

from soapstock.render.pdf.geometry import Edges, Rect

LABEL = Rect(left=0, top=0, width=100, height=60)


def test_a_box_tied_to_both_edges_stretches() -> None:
    """Left and right given: the width follows the label."""
    box = Edges(left_mm=3, right_mm=35, top_mm=2, height_mm=8).within(LABEL)
    assert (box.left, box.width, box.top, box.height) == (3, 62, 2, 8)


def test_a_box_tied_to_the_far_edges_keeps_its_distance() -> None:
    """Right and bottom given: it stands against them."""
    box = Edges(right_mm=3, width_mm=20, bottom_mm=2, height_mm=10).within(LABEL)
    assert (box.right, box.bottom) == (97, 58)


def test_a_box_not_tied_down_says_what_is_missing() -> None:
    """One edge is too few, three are too many."""
    assert "two of left_mm" in Edges(left_mm=1, top_mm=0, height_mm=1).fault()
    assert "two of top_mm" in Edges(left_mm=1, width_mm=2, top_mm=0).fault()


def test_touching_boxes_do_not_meet() -> None:
    """Sharing an edge is not overlapping."""
    left = Rect(left=0, top=0, width=10, height=10)
    assert not left.meets(Rect(left=10, top=0, width=5, height=5))
    assert left.meets(Rect(left=9.9, top=0, width=5, height=5))


def test_a_corner_outside_the_ellipse_is_outside() -> None:
    """A box in the corner of a round label's square does not count as inside."""
    assert LABEL.holds_in_ellipse(Rect(left=40, top=20, width=20, height=20))
    assert not LABEL.holds_in_ellipse(Rect(left=1, top=1, width=10, height=5))
