"""Laying a label's wording out on a face: measured text in boxes, checked, nothing drawn yet.

Text may shrink from the size wished for to the least height the face or the law allows, never
below. Whatever does not fit, overlaps, or stands too near the net weight is refused, with mends.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import combinations
from typing import TYPE_CHECKING, Literal

from soapstock.errors import RuleBroken
from soapstock.render.designs import Block, Face
from soapstock.render.fonts import MM_PER_PT, Font, clean, get_font
from soapstock.render.geometry import Rect
from soapstock.render.qr import QUIET_MODULES, module_mm, qr_matrix
from soapstock.render.text import Fitted, TooWideError, fit, set_lines

if TYPE_CHECKING:
    from soapstock.labelling.wording import LabelWording

_cached_fit = lru_cache(maxsize=4096)(fit)
WORDS = {
    "name": "the name",
    "identity": "the identity",
    "net_weight": "the net weight",
    "ingredients": "the ingredient list",
    "maker": "the maker's name and address",
    "lot": "the lot code",
    "made": "the date it was made",
    "best_before": "the best-before date",
    "opened": "the months of use after opening",
    "qr": "the QR code",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class TextItem:
    """Placed lines of text.

    Attributes:
        holds: statement kinds it is made of.
        lines: text, left edge and baseline in mm, for each line.
        ink: the area the letters can cover.
    """

    holds: tuple[str, ...]
    font: Font
    size_pt: float
    lines: tuple[tuple[str, float, float], ...]
    ink: Rect


@dataclass(frozen=True, slots=True, kw_only=True)
class QrItem:
    """A placed QR code; `ink` holds it with its quiet zone."""

    text: str
    module_mm: float
    ink: Rect


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapeItem:
    """A filled bar or an outline."""

    draws: Literal["rule", "frame"]
    line_mm: float
    ink: Rect


Item = TextItem | QrItem | ShapeItem


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """One label laid out.

    Attributes:
        width_mm: of the label.
        height_mm: of the label.
        items: what is drawn, in reading order.
        warnings: optional things that were left out.
    """

    width_mm: float
    height_mm: float
    items: tuple[Item, ...]
    warnings: tuple[str, ...] = field(default=())


def _words(holds: Sequence[str]) -> str:
    return " and ".join(WORDS.get(kind, kind.replace("_", " ")) for kind in holds)


def _texts(wording: LabelWording) -> dict[str, str]:
    texts = {statement.kind: statement.text for statement in wording.statements if statement.text}
    return {str(kind): text for kind, text in texts.items()}


def _check_all_placed(wording: LabelWording, face: Face) -> list[str]:
    placed = {kind for block in face.blocks for kind in block.holds}
    warnings = []
    for statement in wording.statements:
        if statement.kind in placed or not statement.text:
            continue
        if statement.required:
            raise RuleBroken(
                f"face '{face.name}' has no place for {_words([statement.kind])},"
                f" which {statement.rule} requires",
                hint="take another face, or add a block for it to this one",
            )
        warnings.append(f"face '{face.name}' leaves out {_words([statement.kind])}")
    return warnings


def _min_size_pt(
    block: Block, face: Face, heights_mm: Mapping[str, float], holds: Sequence[str], font: Font
) -> float:
    legal = max((heights_mm.get(kind, 0.0) for kind in holds), default=0.0)
    return font.size_for_x_height_pt(max(block.min_height_mm or face.min_height_mm, legal))


def _refuse_text(
    block: Block, holds: Sequence[str], text: str, *, font: Font, size_pt: float, box: Rect
) -> RuleBroken:
    what = _words(holds)
    least = f"{size_pt:.1f} pt, the smallest type allowed for it"
    try:
        needs = set_lines(text, font, size_pt, box.width, block.leading).height_mm
        problem = f"needs {needs:.1f} mm of height and has {box.height:.1f} mm at {least}"
    except TooWideError as err:
        problem = f"has a word ('{err.word}') wider than its {box.width:.1f} mm at {least}"
    return RuleBroken(
        f"{what} {problem}",
        hint="take a bigger label, shorten the wording, or put it on a tag",
    )


def _place_text(
    block: Block, holds: tuple[str, ...], *, box: Rect, font: Font, set_text: Fitted
) -> TextItem:
    slack = box.height - set_text.height_mm
    top = box.top + {"top": 0.0, "middle": slack / 2, "bottom": slack}[block.valign]
    em = set_text.size_pt * MM_PER_PT
    lines, left_most, right_most = [], box.right, box.left
    for number, line in enumerate(set_text.lines):
        width = font.width_mm(line, set_text.size_pt)
        gap = box.width - width
        left = box.left + {"left": 0.0, "centre": gap / 2, "right": gap}[block.align]
        lines.append((line, left, top + font.ascent * em + number * set_text.leading_mm))
        left_most, right_most = min(left_most, left), max(right_most, left + width)
    ink = Rect(left=left_most, top=top, width=right_most - left_most, height=set_text.height_mm)
    return TextItem(holds=holds, font=font, size_pt=set_text.size_pt, lines=tuple(lines), ink=ink)


def _lay_text(
    block: Block, texts: Mapping[str, str], face: Face, heights_mm: Mapping[str, float], box: Rect
) -> TextItem | None:
    holds = tuple(kind for kind in block.holds if kind in texts)
    if not holds:
        return None
    font = get_font(block.font)
    text = clean(block.joined_by.join(texts[kind] for kind in holds), font, _words(holds))
    least = _min_size_pt(block, face, heights_mm, holds, font)
    set_text = _cached_fit(
        text,
        font,
        width_mm=box.width,
        height_mm=box.height,
        size_pt=block.size_pt,
        min_size_pt=least,
        leading=block.leading,
        keep_lines=block.keep_lines,
    )
    if set_text is None:
        raise _refuse_text(block, holds, text, font=font, size_pt=least, box=box)
    return _place_text(block, holds, box=box, font=font, set_text=set_text)


def _lay_qr(block: Block, text: str, box: Rect, dots_per_mm: float | None) -> QrItem:
    side = min(box.width, box.height)
    module = module_mm(text, side, dots_per_mm=dots_per_mm)
    side = module * (len(qr_matrix(text)) + 2 * QUIET_MODULES)
    across = {"left": 0.0, "centre": 0.5, "right": 1.0}[block.align] * (box.width - side)
    down = {"top": 0.0, "middle": 0.5, "bottom": 1.0}[block.valign] * (box.height - side)
    ink = Rect(left=box.left + across, top=box.top + down, width=side, height=side)
    return QrItem(text=text, module_mm=module, ink=ink)


def _lay_block(
    block: Block,
    box: Rect,
    *,
    wording: LabelWording,
    texts: Mapping[str, str],
    face: Face,
    heights_mm: Mapping[str, float],
    dots_per_mm: float | None,
) -> Item | None:
    if box.width <= 0 or box.height <= 0:
        raise RuleBroken(
            f"face '{face.name}' has no room for {_words(block.holds) or block.draws}",
            hint="take a bigger label",
        )
    if block.draws == "qr":
        return _lay_qr(block, wording.qr_text, box, dots_per_mm)
    if block.draws == "text":
        return _lay_text(block, texts, face, heights_mm, box)
    return ShapeItem(draws=block.draws, line_mm=block.line_mm, ink=box)


def _name(item: Item) -> str:
    if isinstance(item, TextItem):
        return _words(item.holds)
    return "the QR code" if isinstance(item, QrItem) else f"a {item.draws}"


def clear_zone(item: TextItem) -> Rect:
    """The space the net weight keeps free of other print.

    Above and below the height of its lettering, left and right twice the width of its N:
    16 CFR 500.6(b), 21 CFR 701.13(f).
    """
    height = item.font.cap_height * item.size_pt * MM_PER_PT
    return item.ink.grown(2 * item.font.width_mm("N", item.size_pt), height)


def _check_places(items: Sequence[Item], face: Face, label: Rect) -> None:
    safe = label.grown(-face.clear_mm)
    blanks = [p.edges.within(label) for p in face.panels.values() if p.blank]
    for item in items:
        inside = safe.holds(item.ink)
        if face.shape != "rectangle":
            inside = isinstance(item, ShapeItem) or safe.holds_in_ellipse(item.ink)
        if not inside or any(item.ink.meets(blank) for blank in blanks):
            raise RuleBroken(
                f"{_name(item)} stands off the printable part of face '{face.name}'",
                hint="mend the block's edges in the face, or take a bigger label",
            )
    solid = [i for i in items if not (isinstance(i, ShapeItem) and i.draws == "frame")]
    for one, other in combinations(solid, 2):
        if one.ink.meets(other.ink):
            raise RuleBroken(
                f"{_name(one)} and {_name(other)} overlap on face '{face.name}'",
                hint="take a bigger label or mend the face",
            )
    for item in solid:
        if isinstance(item, TextItem) and item.holds == ("net_weight",):
            zone = clear_zone(item)
            for other in solid:
                if other is not item and zone.meets(other.ink):
                    raise RuleBroken(
                        f"{_name(other)} stands too near the net weight on face '{face.name}'"
                        " (16 CFR 500.6)",
                        hint="take a bigger label or move the block in the face",
                    )


def lay_out(
    wording: LabelWording,
    face: Face,
    *,
    width_mm: float,
    height_mm: float,
    heights_mm: Mapping[str, float] | None = None,
    dots_per_mm: float | None = None,
) -> Layout:
    """One label's wording on a face of that size.

    Args:
        wording: the statements, lot code and QR text.
        face: what stands where.
        width_mm: of the label.
        height_mm: of the label.
        heights_mm: least height in mm of the lower-case o by statement kind, as the law has it.
        dots_per_mm: of a roll printer.

    Raises:
        RuleBroken: a required statement has no place, something does not fit at its smallest
            allowed size, two things overlap, or a character has no glyph.
    """
    label = Rect(left=0, top=0, width=width_mm, height=height_mm)
    warnings = _check_all_placed(wording, face)
    texts = _texts(wording)
    items: list[Item] = []
    for block in face.blocks:
        box = block.edges.within(face.panel_rect(block.panel, label))
        try:
            item = _lay_block(
                block,
                box,
                wording=wording,
                texts=texts,
                face=face,
                heights_mm=heights_mm or {},
                dots_per_mm=dots_per_mm,
            )
        except RuleBroken as err:
            if not block.optional:
                raise
            warnings.append(f"left out: {err.message}")
            continue
        if item is not None:
            items.append(item)
    _check_places(items, face, label)
    return Layout(
        width_mm=width_mm, height_mm=height_mm, items=tuple(items), warnings=tuple(warnings)
    )
