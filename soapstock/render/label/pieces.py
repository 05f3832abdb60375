"""What a block says, in which face of type and from which size down: its pieces.

A block is one piece, or two where its statement has a small heading (`kicker`). A block that has
nothing to show on this label is none.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache

from soapstock.labelling.wording import LabelWording
from soapstock.render.label.designs import HAND, Block, Face
from soapstock.render.label.items import words_for
from soapstock.render.label.legal import Law, TypeNeed
from soapstock.render.label.look import Look
from soapstock.render.pdf.fonts import Font, clean, font_for, get_font, tracked
from soapstock.tables import read_toml

_KICKER_PT = 6.3
_KICKER_TRACKING = 0.14
_OWN_FILES = ("regular", "semibold")  # faces for which a maker may give a font of their own


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """What is to be printed and what with.

    Attributes:
        wording: the label's statements.
        face: what stands where.
        law: what binds it.
        look: ink, mood, and what the ornaments are drawn from.
        codes: barcodes by kind (`retail`, `gs1_128`).
        dots_per_mm: of a roll printer, which prints in black alone.
        corner_mm: radius of the label's corners.
    """

    wording: LabelWording
    face: Face
    law: Law = field(default_factory=Law)
    look: Look = field(default_factory=Look)
    codes: Mapping[str, str] = field(default_factory=dict)
    dots_per_mm: float | None = None
    corner_mm: float = 0.0

    def texts(self) -> dict[str, str]:
        """Text by statement kind."""
        words = self.wording
        return {str(s.kind): s.text for s in (*words.statements, *words.extras) if s.text}

    def seen(self) -> Look:
        """The look as this printer can print it."""
        return replace(self.look, ink=None) if self.dots_per_mm else self.look


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One thing to place."""

    block: Block
    height_mm: float = 0.0

    @property
    def holds(self) -> tuple[str, ...]:
        """The statements it may hold."""
        return self.block.holds


@dataclass(frozen=True, slots=True, kw_only=True)
class TextPiece(Piece):
    """A text with its font and the least size it may have; `heading` is a small one above more."""

    said: tuple[str, ...]
    text: str
    font: Font
    least_pt: float
    heading: bool = False

    @property
    def holds(self) -> tuple[str, ...]:
        """The statements it is made of."""
        return self.said


def need_of(
    kind: str, block: Block, face: Face, font: Font, law: Law, *, heading: bool = False
) -> tuple[TypeNeed, float]:
    """What bounds a statement's type from below, and the size it comes to, in points.

    A heading is in capitals: these are measured.
    """
    own = TypeNeed(mm=block.min_height_mm or face.min_height_mm, rule=f"face '{face.name}'")
    needs = [own, *([law.needs[kind]] if kind in law.needs else [])]
    if heading:
        needs = [replace(need, measured="capital") for need in needs]
    sizes = [(need, font.size_for_pt(need.mm, need.measured)) for need in needs]
    # At equal size the law is named rather than our own choice.
    return max(reversed(sizes), key=lambda pair: pair[1])


@cache
def _counts_as_bold(weight: str) -> bool:
    return bool(read_toml(HAND)["fonts"][weight].get("bold", False))


def _font(printed: Printed, block: Block, holds: tuple[str, ...], text: str) -> Font:
    """The block's face of type; the semibold where the law asks for bold and this one is not."""
    weight: str = block.font
    if not _counts_as_bold(weight) and any(kind in printed.law.bold for kind in holds):
        weight = "semibold"
    own = printed.face.font_file(weight) if weight in _OWN_FILES else None
    font = get_font(weight, own) if own else font_for(text, weight)
    return tracked(font, block.tracking_em)


def _piece(
    printed: Printed, block: Block, holds: tuple[str, ...], raw: str, *, heading: bool = False
) -> TextPiece:
    text = raw.upper() if block.case == "capitals" else raw
    font = _font(printed, block, holds, text)
    least = max(
        need_of(kind, block, printed.face, font, printed.law, heading=heading)[1]
        for kind in holds or ("",)
    )
    composed = clean(text, font, words_for(holds) or f"block '{block.text[:20]}'")
    return TextPiece(
        block=block, said=holds, text=composed, font=font, least_pt=least, heading=heading
    )


def _with_kicker(
    printed: Printed, block: Block, holds: tuple[str, ...], text: str
) -> list[TextPiece]:
    """The heading before the colon in small capitals, and the rest under it."""
    head, colon, rest = text.partition(":")
    if not colon or not rest.strip() or "\n" in head:
        return [_piece(printed, block, holds, text)]
    kicker = replace(
        block,
        font="semibold",
        size_pt=_KICKER_PT,
        case="capitals",
        tracking_em=_KICKER_TRACKING,
        colour="ink",
        leading=1.0,
    )
    body = replace(block, gap="hair")
    return [
        _piece(printed, kicker, holds, head.strip(), heading=True),
        _piece(printed, body, holds, rest.strip()),
    ]


def text_pieces(printed: Printed, texts: Mapping[str, str], block: Block) -> list[TextPiece]:
    """The pieces of a block of text; none when its statements are not on this label."""
    holds = tuple(kind for kind in block.holds if kind in texts)
    if not holds and (block.holds or not block.text):
        return []
    said = [*([block.text] if block.text else []), *(texts[k] for k in holds)]
    text = block.joined_by.join(said)
    if block.kicker and block.stack:
        return _with_kicker(printed, block, holds, text)
    return [_piece(printed, block, holds, text)]
