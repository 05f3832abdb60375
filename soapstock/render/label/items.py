"""What a laid-out label is made of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from soapstock.labelling.symbols import Symbol
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


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapeItem:
    """A filled bar, an outline, a ring or a picture."""

    draws: Literal["rule", "frame", "ring", "image"]
    line_mm: float
    ink: Rect
    image: Path | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SignItem:
    """A placed sign of the law; `figures` is the text inside it, if any."""

    holds: tuple[str, ...]
    symbol: Symbol
    figures: TextItem | None
    ink: Rect


Item = SignItem | TextItem | QrItem | BarcodeItem | ShapeItem


def name_of_item(item: Item) -> str:
    """An item in words, for messages."""
    if isinstance(item, TextItem):
        return words_for(item.holds) or f"the words '{item.lines[0][0]}'"
    if isinstance(item, QrItem):
        return "the QR code"
    if isinstance(item, SignItem):
        return f"the sign '{item.symbol.key}'"
    if isinstance(item, BarcodeItem):
        return "the barcode"
    return "the picture" if item.draws == "image" else f"a {item.draws}"


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
