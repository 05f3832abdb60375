"""The signs a label may carry: hourglass, open jar, hand on book, e-mark; meaning, size, drawing.

Each is described and drawn as paths in tables/law/symbols.toml; putting it on paper is render's.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from soapstock.errors import BadTable
from soapstock.labelling.law import market_on
from soapstock.tables import read_toml

TABLE = "law/symbols.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of a path: M (move), L (line), C (curve: two control points, end) or Z (close)."""

    command: str
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """One path of a sign, filled or stroked."""

    paint: Literal["fill", "stroke"]
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Symbol:
    """One sign.

    Attributes:
        key: hourglass, open-jar, hand-on-book or e-mark.
        stands_for: kind of the statement it stands beside or in for.
        meaning, draw: what it says, and how it looks.
        min_mm: least height, or None when the law names none.
        citation, confidence: where it stands, and how we know it.
        paths: its drawing on a square of 100 x 100, y upwards; empty when it is a character.
        stroke_width: of stroked paths, on the same scale.
        text_box: left, bottom, right, top of the room for its own text (the jar's months), or None.
        character: the sign as a character of the label's font, or empty.
    """

    key: str
    stands_for: str
    meaning: str
    draw: str
    min_mm: float | None
    citation: str
    confidence: str
    paths: tuple[Drawn, ...] = ()
    stroke_width: float = 0.0
    text_box: tuple[float, float, float, float] | None = None
    character: str = ""


_POINTS = {"M": 1, "L": 1, "C": 3, "Z": 0}
SQUARE = 100.0


def parse_path(text: str, paint: str) -> Drawn:
    """A path written as `M x y L x y C x1 y1 x2 y2 x y Z`.

    Raises:
        BadTable: another command, too few figures, a point off the square, or no M first.
    """
    words, steps = text.split(), list[Step]()
    at = 0
    while at < len(words):
        command = words[at]
        if command not in _POINTS or (not steps and command != "M"):
            raise BadTable(f"tables/{TABLE}: '{command}' in path '{text[:30]}' is not understood")
        figures = words[at + 1 : at + 1 + 2 * _POINTS[command]]
        try:
            numbers = [float(figure) for figure in figures]
        except ValueError:
            raise BadTable(f"tables/{TABLE}: path '{text[:30]}' lacks a figure") from None
        if len(numbers) != 2 * _POINTS[command] or not all(0 <= n <= SQUARE for n in numbers):
            raise BadTable(f"tables/{TABLE}: path '{text[:30]}' leaves its square")
        points = tuple(zip(numbers[::2], numbers[1::2], strict=True))
        steps.append(Step(command=command, points=points))
        at += 1 + len(figures)
    if paint not in ("fill", "stroke") or not steps:
        raise BadTable(f"tables/{TABLE}: a path is painted '{paint}' or empty")
    return Drawn(paint="fill" if paint == "fill" else "stroke", steps=tuple(steps))


def symbols_for(market: str, on: date) -> tuple[Symbol, ...]:
    """The signs known in a market on a day. Raises BadInput (market) or NoRuleInForce."""
    market_on(market, on)
    table = read_toml(TABLE)
    return tuple(
        Symbol(
            key=row["key"],
            stands_for=row["stands_for"],
            meaning=row["meaning"],
            draw=row["draw"],
            min_mm=float(row["min_mm"]) if "min_mm" in row else None,
            citation=row["citation"],
            confidence=row["confidence"],
            paths=tuple(parse_path(path["d"], path["paint"]) for path in row.get("paths", ())),
            stroke_width=float(table["stroke_width"]),
            text_box=_box(row.get("text_box")),
            character=row.get("character", ""),
        )
        for row in table["symbols"]
        if market in row["markets"] and row["from"] <= on
    )


def _box(numbers: list[int] | None) -> tuple[float, float, float, float] | None:
    if numbers is None:
        return None
    left, bottom, right, top = (float(number) for number in numbers)
    return left, bottom, right, top


def opened_text(months: int) -> str:
    """The months beside the open jar, such as `12M`."""
    return f"{months}M"
