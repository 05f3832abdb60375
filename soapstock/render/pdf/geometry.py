"""Rectangles in millimetres, measured from the top left corner, y downwards."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import hypot

EDGE_KEYS = ("left_mm", "right_mm", "width_mm", "top_mm", "bottom_mm", "height_mm")
_TIES = 2  # edges or sizes that tie a box down in one direction


@dataclass(frozen=True, slots=True, kw_only=True)
class Rect:
    """A rectangle: left and top edge, width and height, all mm."""

    left: float
    top: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Right edge."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """Bottom edge."""
        return self.top + self.height

    def grown(self, across: float, down: float | None = None) -> Rect:
        """The rectangle with so much more on both sides (negative shrinks it)."""
        down = across if down is None else down
        return Rect(
            left=self.left - across,
            top=self.top - down,
            width=self.width + 2 * across,
            height=self.height + 2 * down,
        )

    def meets(self, other: Rect, slack: float = 1e-6) -> bool:
        """Whether the two share area; touching edges do not count."""
        return (
            self.left < other.right - slack
            and other.left < self.right - slack
            and self.top < other.bottom - slack
            and other.top < self.bottom - slack
        )

    def holds(self, other: Rect, slack: float = 1e-6) -> bool:
        """Whether the other lies wholly inside."""
        return (
            other.left >= self.left - slack
            and other.top >= self.top - slack
            and other.right <= self.right + slack
            and other.bottom <= self.bottom + slack
        )

    def corners(self) -> list[Rect]:
        """Its four corners, as points."""
        return [
            Rect(left=x, top=y, width=0.0, height=0.0)
            for x in (self.left, self.right)
            for y in (self.top, self.bottom)
        ]

    def holds_in_ellipse(self, other: Rect, slack: float = 1e-6) -> bool:
        """Whether the other lies wholly inside the ellipse drawn in this rectangle."""
        mid_x, mid_y = self.left + self.width / 2, self.top + self.height / 2
        return all(
            hypot((at.left - mid_x) / (self.width / 2), (at.top - mid_y) / (self.height / 2))
            <= 1 + slack
            for at in other.corners()
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Edges:
    """Where a box stands in its parent: two of left, right, width, and two of top, bottom, height.

    A box tied to both edges stretches with its parent.
    """

    left_mm: float | None = None
    right_mm: float | None = None
    width_mm: float | None = None
    top_mm: float | None = None
    bottom_mm: float | None = None
    height_mm: float | None = None

    def fault(self) -> str:
        """What is wrong with the edges, in words; empty when they are right."""
        across = sum(v is not None for v in (self.left_mm, self.right_mm, self.width_mm))
        down = sum(v is not None for v in (self.top_mm, self.bottom_mm, self.height_mm))
        if across != _TIES:
            return "give two of left_mm, right_mm, width_mm"
        return "" if down == _TIES else "give two of top_mm, bottom_mm, height_mm"

    def in_stack(self) -> Edges:
        """The edges of a thing whose place down its parent is found later; across it stretches."""
        place = replace(self, top_mm=0.0, bottom_mm=None, height_mm=self.height_mm or 0.0)
        if self.width_mm is None:
            return replace(place, left_mm=self.left_mm or 0.0, right_mm=self.right_mm or 0.0)
        return place if self.right_mm is not None else replace(place, left_mm=self.left_mm or 0.0)

    def within(self, parent: Rect) -> Rect:
        """The rectangle in the parent."""
        left, width = _span(parent.left, parent.width, self.left_mm, self.right_mm, self.width_mm)
        top, height = _span(parent.top, parent.height, self.top_mm, self.bottom_mm, self.height_mm)
        return Rect(left=left, top=top, width=width, height=height)


def _span(
    start: float, extent: float, near: float | None, far: float | None, size: float | None
) -> tuple[float, float]:
    if near is not None and far is not None:
        return start + near, extent - near - far
    if size is None:
        raise ValueError("two of three edges are needed")
    if near is not None:
        return start + near, size
    return start + extent - (far or 0.0) - size, size
