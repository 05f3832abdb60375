"""What a label is drawn with besides words: the variety's ink, and what the ledger says of a lot.

An ornament is true of its lot or is not drawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from soapstock.recipes.ink import Ink
from soapstock.render.label.designs import Mood
from soapstock.render.pdf.geometry import Rect

Point = tuple[float, float]
LINES = 4  # of a shoreline: the curve and its echoes
_ECHO = 0.2  # each echo has so much less of the curve's height
_THIN_MM = (0.32, 0.21, 0.18, 0.14)
_STEPS = 48
_LEAST_POINTS = 3
_GAP_MM = 0.5
BLACK = "#000000"


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How one lot's labels look.

    Attributes:
        ink: of the variety; None prints in black alone.
        mood: quiet, tinted or ringed.
        mark: the maker's own drawing (SVG).
        fats: the recipe's fats by share, largest first.
        weighed: day after the pour and mass of a bar, g, of each weigh-in, in order of days.
    """

    ink: Ink | None = None
    mood: Mood = "quiet"
    mark: Path | None = None
    fats: tuple[float, ...] = ()
    weighed: tuple[Point, ...] = ()

    def shade(self, number: int) -> str:
        """The colour of the piece of that number from 0; empty where only black can be printed."""
        if self.ink is None:
            return ""
        shades = self.ink.shades
        return shades[min(number, len(shades) - 1)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """One line of a drawing: its points in mm, its thickness and colour."""

    points: tuple[Point, ...]
    line_mm: float
    colour: str = BLACK


def stripe_pieces(fats: tuple[float, ...], box: Rect) -> tuple[tuple[float, float], ...]:
    """Left edge and width, mm, of one piece a fat, each as wide as its share of the whole."""
    total, gaps = sum(fats), _GAP_MM * (len(fats) - 1)
    left, pieces = box.left, []
    for share in fats:
        width = (box.width - gaps) * share / total
        pieces.append((left, width))
        left += width + _GAP_MM
    return tuple(pieces)


def _slopes(points: tuple[Point, ...]) -> list[float]:
    """Slopes of a curve through the points that never overshoots them (monotone, harmonic mean)."""
    steps = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(points)]
    inner = [2 * one * two / (one + two) if one * two > 0 else 0.0 for one, two in pairwise(steps)]
    return [steps[0], *inner, steps[-1]]


def _at(points: tuple[Point, ...], slopes: list[float], day: float) -> float:
    """The curve's height on a day: a cubic between each two points."""
    number = max(n for n in range(len(points) - 1) if points[n][0] <= day)
    (x0, y0), (x1, y1) = points[number], points[number + 1]
    wide = x1 - x0
    t = (day - x0) / wide
    return (
        (1 + 2 * t) * (1 - t) ** 2 * y0
        + t * (1 - t) ** 2 * wide * slopes[number]
        + t**2 * (3 - 2 * t) * y1
        + t**2 * (t - 1) * wide * slopes[number + 1]
    )


def shoreline(look: Look, box: Rect) -> tuple[Stroke, ...]:
    """The lot's drying curve through its weigh-ins, and thinner echoes of it below.

    Nothing is drawn of a lot with fewer than three weigh-ins, or one that lost no weight.
    """
    points = look.weighed
    if len(points) < _LEAST_POINTS or points[0][1] <= points[-1][1]:
        return ()
    slopes = _slopes(points)
    first, last = points[0][0], points[-1][0]
    days = [first + (last - first) * n / _STEPS for n in range(_STEPS + 1)]
    heights = [_at(points, slopes, day) for day in days]
    low, high = min(heights), max(heights)
    apart = box.height / (LINES + 1)
    tall = box.height - (LINES - 1) * apart
    strokes = []
    for number in range(LINES):
        # All lines end one below the other at the last weigh-in and rise to the left of it.
        foot = box.bottom - (LINES - 1 - number) * apart
        share = tall * (1 - _ECHO * number) / (high - low)
        strokes.append(
            Stroke(
                points=tuple(
                    (box.left + box.width * n / _STEPS, foot - (height - low) * share)
                    for n, height in enumerate(heights)
                ),
                line_mm=_THIN_MM[number],
                colour=look.shade(number) or BLACK,
            )
        )
    return tuple(strokes)
