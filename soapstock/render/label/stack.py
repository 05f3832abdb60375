"""Stacks: things one under the other in a panel, as large as the panel lets them be.

A panel holds up to three stacks: from its top, in the middle, from its bottom. Sizes step down the
one scale of tables/design/hand.toml together, so that what is larger stays larger; a piece stops at
its least. Things that may be dropped go, last first, before the type becomes small. All slack of a
panel lies in one place: above its lowest stack, or shared round the middle one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

from soapstock.render.label.designs import HAND
from soapstock.render.label.legal import Law
from soapstock.render.label.pieces import Piece, TextPiece
from soapstock.render.pdf.fonts import Font
from soapstock.render.pdf.geometry import Rect
from soapstock.render.pdf.text import Fitted, TooWideError, set_lines
from soapstock.tables import read_toml
from soapstock.units import MM_PER_PT

_COMFORT = 3  # steps down the scale before something is dropped
_ALL = 20
_ABOVE_MIDDLE = 0.45  # of the slack: what looks like the middle lies above it
_WEIGHTS = frozenset({"net_weight", "pair"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A piece in its place; a text with its lines."""

    piece: Piece
    box: Rect
    fitted: Fitted | None = None


class NoRoomError(Exception):
    """Something of a stack does not fit even at its least; `piece` is what, `box` what it has."""

    def __init__(self, piece: Piece, box: Rect) -> None:
        super().__init__(piece.block.draws)
        self.piece, self.box = piece, box


@cache
def _scale() -> tuple[float, ...]:
    return tuple(float(pt) for pt in reversed(read_toml(HAND)["sizes"]["pt"]))


@cache
def space_mm(name: str) -> float:
    """The space of that name, mm."""
    return float(read_toml(HAND)["spaces"][name])


@cache
def steps(wished_pt: float, least_pt: float) -> tuple[float, ...]:
    """Sizes from the one wished for down the scale, and at last the least allowed.

    >>> steps(10.6, 7.5)
    (10.6, 9.6, 8.6, 7.8, 7.5)
    """
    larger = tuple(pt for pt in _scale() if least_pt < pt <= wished_pt + 1e-9)
    return (*larger, least_pt)


@lru_cache(maxsize=4096)
def _lines_at(text: str, font: Font, size_pt: float, width: float, leading: float) -> Fitted | None:
    try:
        return set_lines(text, font, size_pt, width, leading)
    except TooWideError:
        return None


@lru_cache(maxsize=4096)
def set_piece(piece: TextPiece, width_mm: float, level: int) -> Fitted | None:
    """A text in lines of that width at a level down its own steps.

    It goes further down where a word is too wide for the line; None when one still is at the least.
    """
    block, text, font = piece.block, piece.text, piece.font
    sizes = steps(block.size_pt, piece.least_pt)
    found: Fitted | None = None
    for size in sizes[min(level, len(sizes) - 1) :]:
        tried = _lines_at(text, font, size, width_mm, block.leading)
        if tried is None or (found is not None and len(tried.lines) >= len(found.lines)):
            continue
        found = tried
        if not block.keep_lines or len(found.lines) == text.count("\n") + 1:
            break
    # a weight keeps its longest line on top, where a round or an oval is widest
    if found is None or len(found.lines) == 1 or _WEIGHTS & set(piece.holds):
        return found
    return set_lines(text, font, found.size_pt, width_mm, block.leading, even=True)


def _clear_mm(piece: Piece, fitted: Fitted | None, law: Law) -> float:
    """The space that the law keeps clear above and below a net weight, mm."""
    if fitted is None or not isinstance(piece, TextPiece) or not _WEIGHTS & set(piece.holds):
        return 0.0
    heights = law.placement.clear_above_below_heights if law.placement else 1.0
    return heights * piece.font.cap_height * fitted.size_pt * MM_PER_PT


@dataclass(frozen=True, slots=True, kw_only=True)
class _Measured:
    piece: Piece
    fitted: Fitted | None
    above_mm: float
    height_mm: float


def _measure(pieces: Sequence[Piece], rect: Rect, level: int, law: Law) -> list[_Measured]:
    """Each piece with its height and the space above it. Raises NoRoomError for a word too wide."""
    found: list[_Measured] = []
    clear_below = 0.0
    for piece in pieces:
        inner = piece.block.edges.within(rect)
        fitted = None
        if isinstance(piece, TextPiece):
            fitted = set_piece(piece, inner.width, level)
            if fitted is None:
                raise NoRoomError(piece, inner)
        clear = _clear_mm(piece, fitted, law)
        above = max(space_mm(piece.block.gap), clear, clear_below) if found else 0.0
        height = fitted.height_mm if fitted else piece.height_mm or inner.height
        found.append(_Measured(piece=piece, fitted=fitted, above_mm=above, height_mm=height))
        clear_below = clear
    return found


def _total(measured: Sequence[_Measured]) -> float:
    return sum(one.above_mm + one.height_mm for one in measured)


def _put(measured: Sequence[_Measured], rect: Rect) -> list[Placed]:
    slack = rect.height - _total(measured)
    lower = {"top": 0.0, "middle": _ABOVE_MIDDLE * slack, "bottom": slack}
    placed, used = [], 0.0
    for one in measured:
        inner = one.piece.block.edges.within(rect)
        used += one.above_mm
        top = rect.top + used + lower[one.piece.block.stack]
        box = Rect(left=inner.left, top=top, width=inner.width, height=one.height_mm)
        placed.append(Placed(piece=one.piece, box=box, fitted=one.fitted))
        used += one.height_mm
    return placed


def _heads(piece: Piece) -> bool:
    return isinstance(piece, TextPiece) and piece.heading


def _groups(pieces: Sequence[Piece]) -> list[Piece]:
    """What may be dropped, the last first; a heading goes with what it heads."""
    return [piece for piece in reversed(pieces) if piece.block.optional and not _heads(piece)]


def _without(pieces: Sequence[Piece], dropped: Sequence[Piece]) -> list[Piece]:
    gone = {(p.holds, p.block.draws) for p in dropped}
    return [p for p in pieces if not p.block.optional or (p.holds, p.block.draws) not in gone]


def solve(pieces: Sequence[Piece], rect: Rect, law: Law) -> tuple[list[Placed], list[Piece]]:
    """Every piece of a panel in its place, and what was dropped for want of room.

    Args:
        pieces: in reading order: those from the top, the middle, the bottom.
        rect: the panel.
        law: how much space a net weight keeps clear.

    Raises:
        NoRoomError: what must stand there does not fit at its least size.
    """
    may_go = _groups(pieces)
    rank = {"top": 0, "middle": 1, "bottom": 2}
    ordered = sorted(pieces, key=lambda piece: rank[piece.block.stack])
    for number in range(len(may_go) + 1):
        dropped = may_go[:number]
        kept = _without(ordered, dropped)
        blocked: NoRoomError | None = None
        for level in range(_COMFORT if number < len(may_go) else _ALL):
            try:
                measured = _measure(kept, rect, level, law)
            except NoRoomError as err:
                blocked = err
                break
            if _total(measured) <= rect.height + 1e-6:
                return _put(measured, rect), dropped
    raise blocked or _largest(kept, rect, law)


def _largest(pieces: Sequence[Piece], rect: Rect, law: Law) -> NoRoomError:
    """The piece with most text, with the room that the others leave it."""
    measured = _measure(pieces, rect, _ALL, law)
    worst = max(measured, key=lambda one: one.height_mm if one.fitted else 0.0)
    left = rect.height - _total(measured) + worst.height_mm
    inner = worst.piece.block.edges.within(rect)
    box = Rect(left=inner.left, top=inner.top, width=inner.width, height=max(left, 0.0))
    return NoRoomError(worst.piece, box)
