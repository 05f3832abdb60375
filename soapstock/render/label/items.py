"""What a laid-out label is made of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, radians, sin
from pathlib import Path
from typing import Literal

from soapstock.labelling.symbols import Symbol
from soapstock.render.label.look import BLACK, Stroke
from soapstock.render.pdf.fonts import Font, Measured
from soapstock.render.pdf.geometry import Rect
from soapstock.render.pdf.qr import QrPlan
from soapstock.units import MM_PER_PT

WORDS = {
    "name": "the name",
    "identity": "the identity",
    "net_weight": "the net weight",
    "ingredients": "the ingredient list",
    "precautions": "the precautions for use",
    "maker": "the maker's name and address",
    "lot": "the lot code",
    "made": "the date it was made",
    "best_before": "the best-before date",
    "opened": "the months of use after opening",
    "qr": "the QR code",
    "scent": "the scent line",
    "story": "the story",
    "maker_name": "the maker's name",
    "poured": "the day of the pour",
    "batch": "the number of bars",
    "price": "the price",
    "pair": "the net weight of two bars",
    "thanks": "the thanks",
    "contact": "the contact",
}


def words_for(holds: Sequence[str]) -> str:
    """Statement kinds in words, for messages."""
    return " and ".join(WORDS.get(kind, kind.replace("_", " ")) for kind in holds)


@dataclass(frozen=True, slots=True, kw_only=True)
class TextItem:
    """Placed lines of text.

    Attributes:
        holds: statement kinds it is made of; empty for a face's own words.
        size_pt: type size.
        lines: text, left edge and baseline in mm, for each line.
        ink: the area the letters can cover.
    """

    holds: tuple[str, ...]
    font: Font
    size_pt: float
    lines: tuple[tuple[str, float, float], ...]
    ink: Rect
    colour: str = BLACK

    def letter_mm(self, measured: Measured = "o") -> float:
        """Height in mm of the letter that a rule measures."""
        return self.size_pt * MM_PER_PT * self.font.height_em(measured)


@dataclass(frozen=True, slots=True, kw_only=True)
class ArcItem:
    """Text on a circle.

    Attributes:
        holds: statement kinds it is made of.
        text: the whole of it.
        letters: each letter, the middle of its foot in mm, and its turn in degrees.
    """

    holds: tuple[str, ...]
    text: str
    font: Font
    size_pt: float
    letters: tuple[tuple[str, float, float, float], ...]
    colour: str = BLACK

    @property
    def ink(self) -> Rect:
        """What holds all letters."""
        boxes = self.boxes()
        left, top = min(b.left for b in boxes), min(b.top for b in boxes)
        right, bottom = max(b.right for b in boxes), max(b.bottom for b in boxes)
        return Rect(left=left, top=top, width=right - left, height=bottom - top)

    def boxes(self) -> list[Rect]:
        """An upright box round each letter."""
        return [self._box(*letter) for letter in self.letters]

    def corners(self) -> list[Rect]:
        """The four corners of each letter as it stands, turned, as points."""
        return [
            Rect(left=x, top=y, width=0.0, height=0.0)
            for letter in self.letters
            for x, y in self._spots(*letter)
        ]

    def _spots(self, letter: str, x: float, y: float, degrees: float) -> list[tuple[float, float]]:
        half = self.font.width_mm(letter, self.size_pt) / 2
        below = 0.0 if self.text.isupper() else self.font.descent
        top, low = (em * self.size_pt * MM_PER_PT for em in (self.font.cap_height, -below))
        turned = radians(degrees)
        return [
            (x + a * cos(turned) - b * sin(turned), y - a * sin(turned) - b * cos(turned))
            for a in (-half, half)
            for b in (low, top)
        ]

    def _box(self, letter: str, x: float, y: float, degrees: float) -> Rect:
        spots = self._spots(letter, x, y, degrees)
        left, right = min(s[0] for s in spots), max(s[0] for s in spots)
        high, deep = min(s[1] for s in spots), max(s[1] for s in spots)
        return Rect(left=left, top=high, width=right - left, height=deep - high)

    def letter_mm(self, measured: Measured = "o") -> float:
        """Height in mm of the letter that a rule measures."""
        return self.size_pt * MM_PER_PT * self.font.height_em(measured)


@dataclass(frozen=True, slots=True, kw_only=True)
class QrItem:
    """A placed QR code; `ink` holds it with its quiet zone."""

    text: str
    plan: QrPlan
    ink: Rect


@dataclass(frozen=True, slots=True, kw_only=True)
class BarcodeItem:
    """A placed linear barcode; `ink` holds bars, quiet zones and the line of figures below.

    Attributes:
        bars: left edge and width of each dark bar, mm from the label's left.
        bars_top: top of the bars, mm.
        bars_height: height of the bars, mm.
        figures: the text under the bars.
    """

    symbology: str
    bars: tuple[tuple[float, float], ...]
    bars_top: float
    bars_height: float
    figures: TextItem
    ink: Rect


Shape = Literal["rule", "frame", "ring", "image", "tile", "mark"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapeItem:
    """A filled bar, an outline, a ring, a tile under other things, or a picture.

    `colour` is that of the bar, the outline or the tile.
    """

    draws: Shape
    line_mm: float
    ink: Rect
    image: Path | None = None
    colour: str = BLACK
    oval: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class OrnamentItem:
    """A drawing from the ledger: the recipe's stripe or the drying curve.

    Attributes:
        pieces: of a stripe: left edge and width, mm, and colour; an empty colour is hatched, the
            closer the nearer to the first.
        strokes: of a shoreline.
    """

    draws: Literal["stripe", "shoreline"]
    ink: Rect
    pieces: tuple[tuple[float, float, str], ...] = ()
    strokes: tuple[Stroke, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SignItem:
    """A placed sign of the law; `figures` is the text inside it, if any."""

    holds: tuple[str, ...]
    symbol: Symbol
    figures: TextItem | None
    ink: Rect


Item = SignItem | TextItem | ArcItem | QrItem | BarcodeItem | ShapeItem | OrnamentItem


def is_ground(item: Item) -> bool:
    """Whether an item lies under others."""
    return isinstance(item, ShapeItem) and item.draws == "tile"


def name_of_item(item: Item) -> str:
    """An item in words, for messages."""
    if isinstance(item, TextItem):
        return words_for(item.holds) or f"the words '{item.lines[0][0]}'"
    if isinstance(item, ArcItem):
        return words_for(item.holds) or f"the words '{item.text}'"
    if isinstance(item, QrItem):
        return "the QR code"
    if isinstance(item, OrnamentItem):
        return f"the {item.draws}"
    if isinstance(item, SignItem):
        return f"the sign '{item.symbol.key}'"
    if isinstance(item, BarcodeItem):
        return "the barcode"
    return {"image": "the picture", "mark": "the maker's mark"}.get(item.draws, f"a {item.draws}")


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeNote:
    """The size one statement was set in, and the rule that bounds it."""

    kind: str
    size_pt: float
    letter_mm: float
    least_mm: float
    measured: Measured
    rule: str
    confidence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """One label laid out.

    Attributes:
        width_mm: of the label.
        height_mm: of the label.
        items: what is drawn, in reading order.
        sizes: of every statement on it.
        warnings: optional things that were left out.
    """

    width_mm: float
    height_mm: float
    items: tuple[Item, ...]
    sizes: tuple[SizeNote, ...] = ()
    warnings: tuple[str, ...] = ()

    def codes(self) -> tuple[str, ...]:
        """How its QR codes came out, a line each."""
        return tuple(item.plan.describe() for item in self.items if isinstance(item, QrItem))
