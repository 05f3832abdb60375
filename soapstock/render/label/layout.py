"""Laying a label's wording out on a face: measured text in boxes, checked, nothing drawn yet.

Text may shrink from the size wished for to the least height the face or the law allows, never
below. Whatever does not fit, overlaps, or stands too near the net weight is refused, with mends.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import cast

from soapstock.errors import RuleBroken
from soapstock.labelling.law import get_market
from soapstock.labelling.wording import Statement
from soapstock.recipes.ink import WHITE
from soapstock.render.label.arc import lay_arc
from soapstock.render.label.designs import Block
from soapstock.render.label.items import (
    ArcItem,
    BarcodeItem,
    Item,
    Layout,
    OrnamentItem,
    QrItem,
    Shape,
    ShapeItem,
    SignItem,
    SizeNote,
    TextItem,
    words_for,
)
from soapstock.render.label.look import BLACK, Look, shoreline, stripe_pieces
from soapstock.render.label.mends import mends_for
from soapstock.render.label.pieces import Piece, Printed, TextPiece, need_of, text_pieces
from soapstock.render.label.places import check_places
from soapstock.render.label.signs import LEAFLET, sign_for, text_room
from soapstock.render.label.stack import NoRoomError, solve
from soapstock.render.pdf.barcode import encode
from soapstock.render.pdf.fonts import Font, get_font
from soapstock.render.pdf.geometry import Edges, Rect
from soapstock.render.pdf.qr import plan_qr
from soapstock.render.pdf.text import Fitted, TooWideError, fit, set_lines
from soapstock.units import MM_PER_PT

_PLAIN = Look()
_MUCH_MM = 100.0
_cached_fit = lru_cache(maxsize=256)(fit)  # lots of a run share most texts
_FIGURES_PT = 8.0
_FIGURES_ROOM_MM = 3.4


def _where(printed: Printed, statement: Statement) -> str:
    """Where a statement that a partial face leaves out has its place."""
    market = printed.wording.market
    front = get_market(market).net_weight_on_front if market else ""
    if statement.kind == "net_weight" and front:
        return f"on the front of the package, its principal display panel ({front})"
    return "elsewhere on the package"


def _unplaced(printed: Printed) -> list[str]:
    """Warnings for statements the face has no place for; a required one is refused."""
    face = printed.face
    placed = {kind for block in face.blocks if block.draws != "sign" for kind in block.holds}
    warnings = []
    for statement in printed.wording.statements:
        if statement.kind in placed or not statement.text:
            continue
        if statement.required and face.partial:
            warnings.append(
                f"{words_for([statement.kind])} must stand {_where(printed, statement)}"
            )
        elif statement.required:
            raise RuleBroken(
                f"face '{face.name}' has no place for {words_for([statement.kind])},"
                f" which {statement.rule} requires",
                hint="take another face, or add a block for it to this one",
            )
        else:
            warnings.append(f"face '{face.name}' leaves out {words_for([statement.kind])}")
    return warnings


def _refuse_text(
    printed: Printed, block: Block, font: Font, *, text: str, least_pt: float, box: Rect
) -> RuleBroken:
    texts = printed.texts()
    holds = tuple(kind for kind in block.holds if kind in texts)
    what = words_for(holds) or f"the text '{text[:30]}'"
    least = f"{least_pt:.1f} pt, the smallest type allowed for it"
    need, have = ("need", "have") if len(holds) > 1 else ("needs", "has")
    try:
        needs = set_lines(text, font, least_pt, box.width, block.leading).height_mm
        problem = f"{need} {needs:.1f} mm of height and {have} {box.height:.1f} mm at {least}"
    except TooWideError as err:
        problem = f"{have} a word ('{err.word}') wider than its {box.width:.1f} mm at {least}"
    drop = [
        s.kind
        for s in printed.wording.statements
        if s.kind in holds and s.kind in ("made", "best_before") and not s.required and s.text
    ]
    hint = mends_for(
        text=text,
        box=box,
        font=font,
        size_pt=least_pt,
        block=block,
        drop=drop,
        face=printed.face.name,
    )
    return RuleBroken(f"{what} {problem}", hint=hint)


def _align(block: Block, look: Look) -> float:
    """Share of the gap that stands left of a line."""
    align = block.align
    if align == "axis":
        align = "centre" if look.mood == "ringed" else "left"
    return {"left": 0.0, "centre": 0.5, "right": 1.0}[align]


def _colour(block: Block, look: Look) -> str:
    return look.ink.colour if look.ink and block.colour == "ink" else BLACK


def _place_text(
    block: Block,
    holds: tuple[str, ...],
    *,
    box: Rect,
    font: Font,
    set_text: Fitted,
    look: Look = _PLAIN,
) -> TextItem:
    slack = box.height - set_text.height_mm
    top = box.top + {"top": 0.0, "middle": slack / 2, "bottom": slack}[block.valign]
    em = set_text.size_pt * MM_PER_PT
    lines, left_most, right_most = [], box.right, box.left
    for number, line in enumerate(set_text.lines):
        width = font.width_mm(line, set_text.size_pt)
        left = box.left + _align(block, look) * (box.width - width)
        lines.append((line, left, top + font.ascent * em + number * set_text.leading_mm))
        left_most, right_most = min(left_most, left), max(right_most, left + width)
    ink = Rect(left=left_most, top=top, width=right_most - left_most, height=set_text.height_mm)
    return TextItem(
        holds=holds,
        font=font,
        size_pt=set_text.size_pt,
        lines=tuple(lines),
        ink=ink,
        colour=_colour(block, look),
    )


def _lay_text(printed: Printed, piece: TextPiece, box: Rect) -> TextItem:
    block, font = piece.block, piece.font
    set_text = _cached_fit(
        piece.text,
        font,
        width_mm=box.width,
        height_mm=box.height,
        size_pt=block.size_pt,
        min_size_pt=piece.least_pt,
        leading=block.leading,
        keep_lines=block.keep_lines,
    )
    if set_text is None:
        raise _refuse_text(printed, block, font, text=piece.text, least_pt=piece.least_pt, box=box)
    look = printed.seen()
    return _place_text(block, piece.holds, box=box, font=font, set_text=set_text, look=look)


def _snap(value: float, dots_per_mm: float | None) -> float:
    """The length moved to a whole printer dot, so that every edge of a module falls on one."""
    return round(value * dots_per_mm) / dots_per_mm if dots_per_mm else value


def _offset(
    block: Block, box: Rect, width: float, height: float, look: Look = _PLAIN
) -> tuple[float, float]:
    across = _align(block, look) * (box.width - width)
    down = {"top": 0.0, "middle": 0.5, "bottom": 1.0}[block.valign] * (box.height - height)
    return box.left + across, box.top + down


def _lay_qr(printed: Printed, block: Block, box: Rect) -> QrItem:
    text, dots = printed.wording.qr_text, printed.dots_per_mm
    plan = plan_qr(text, min(box.width, box.height), dots_per_mm=dots)
    side = plan.side_mm
    left, top = _offset(block, box, side, side, printed.look)
    ink = Rect(left=_snap(left, dots), top=_snap(top, dots), width=side, height=side)
    return QrItem(text=text, plan=plan, ink=ink)


def _lay_barcode(printed: Printed, block: Block, box: Rect) -> BarcodeItem | None:
    kind = next((kind for kind in block.holds if kind in printed.codes), None)
    if kind is None:
        return None
    symbol = encode(kind, printed.codes[kind])
    across, dots = symbol.modules + sum(symbol.quiet), printed.dots_per_mm
    module = min(box.width / across, 0.66)
    if dots:
        module = int(module * dots + 1e-6) / dots
    if module < symbol.least_mm - 1e-9:
        raise RuleBroken(
            f"the barcode needs {across * symbol.least_mm:.1f} mm of width and has"
            f" {box.width:.1f} mm",
            hint="take a bigger label, or a face without the barcode",
        )
    left, top = _offset(block, box, across * module, box.height)
    left = _snap(left, dots)
    font = get_font("regular", printed.face.font_file("regular"))
    below = Rect(
        left=left, top=box.bottom - _FIGURES_ROOM_MM, width=across * module, height=_FIGURES_ROOM_MM
    )
    figures = fit(
        symbol.figures,
        font,
        width_mm=below.width,
        height_mm=below.height,
        size_pt=_FIGURES_PT,
        min_size_pt=6.0,
    )
    if figures is None:
        raise RuleBroken("the figures under the barcode do not fit", hint="take a bigger label")
    start = left + symbol.quiet[0] * module
    return BarcodeItem(
        symbology=kind,
        bars=tuple((start + at * module, width * module) for at, width in symbol.bars),
        bars_top=top,
        bars_height=box.height - _FIGURES_ROOM_MM - 0.6,
        figures=_place_text(
            Block(draws="text", edges=block.edges, align="centre"),
            (),
            box=below,
            font=font,
            set_text=figures,
        ),
        ink=Rect(left=left, top=top, width=across * module, height=box.height),
    )


def _lay_sign(printed: Printed, block: Block, box: Rect) -> SignItem | None:
    """The sign of the first statement that has one; the leaflet sign only where its list is not."""
    shown = {kind for other in printed.face.blocks if other.draws == "text" for kind in other.holds}
    for kind in block.holds:
        found = sign_for(printed.wording, kind)
        if found is None or (found[0].key == LEAFLET and kind in shown):
            continue
        symbol, text = found
        side = min(box.width, box.height)
        if symbol.min_mm is not None and side < symbol.min_mm:
            raise RuleBroken(
                f"the sign '{symbol.key}' needs {symbol.min_mm:g} mm ({symbol.citation})",
                hint="take a bigger label",
            )
        left, top = _offset(block, box, side, side)
        square = Rect(left=left, top=top, width=side, height=side)
        room = text_room(symbol, square)
        figures = _sign_figures(printed, text, room) if text and room else None
        return SignItem(holds=(kind,), symbol=symbol, figures=figures, ink=square)
    return None


def _sign_figures(printed: Printed, text: str, room: Rect) -> TextItem:
    font = get_font("semibold", printed.face.font_file("semibold"))
    least = font.size_for_pt(printed.face.min_height_mm, "figure")
    fitted = fit(
        text,
        font,
        width_mm=room.width,
        height_mm=room.height,
        size_pt=30.0,
        min_size_pt=least,
        leading=1.0,
    )
    if fitted is None:
        raise RuleBroken(f"'{text}' does not fit its sign", hint="make the sign's block bigger")
    block = Block(draws="text", edges=Edges(), align="centre", valign="middle")
    return _place_text(block, (), box=room, font=font, set_text=fitted)


def _lay_shape(printed: Printed, block: Block, box: Rect) -> ShapeItem | None:
    """A bar, an outline, a picture, or a ground in the tint; an outline where there is none."""
    look, draws = printed.seen(), cast("Shape", block.draws)
    image, colour = None, _colour(block, look)
    if block.draws == "image":
        image = printed.face.file(block.image)
    elif block.draws == "tile" and look.ink is not None:
        colour = WHITE if block.white else look.ink.tint
    elif block.draws == "tile":
        if not block.line_mm:
            return None
        draws = "frame"
    return ShapeItem(
        draws=draws, line_mm=block.line_mm, ink=box, image=image, colour=colour, oval=block.oval
    )


def _lay_mark(printed: Printed, block: Block, box: Rect) -> ShapeItem | None:
    """The maker's own drawing in the largest square of its box."""
    mark = printed.look.mark
    if mark is None:
        return None
    side = min(box.width, box.height)
    left = box.left + _align(block, printed.look) * (box.width - side)
    square = Rect(left=left, top=box.top, width=side, height=side)
    return ShapeItem(draws="mark", line_mm=0.0, ink=square, image=mark)


def _lay_ornament(printed: Printed, block: Block, box: Rect) -> OrnamentItem | None:
    """What the ledger says of the lot as a drawing; None where it says too little."""
    look = printed.seen()
    if block.draws == "stripe":
        pieces = tuple(
            (left, width, look.shade(number))
            for number, (left, width) in enumerate(stripe_pieces(look.fats, box))
        )
        return OrnamentItem(draws="stripe", ink=box, pieces=pieces) if pieces else None
    strokes = shoreline(look, box)
    return OrnamentItem(draws="shoreline", ink=box, strokes=strokes) if strokes else None


def _lay_other(printed: Printed, block: Block, box: Rect) -> Item | None:
    """Anything but text."""
    if box.width <= 0 or box.height <= 0:
        raise RuleBroken(
            f"face '{printed.face.name}' has no room for {words_for(block.holds) or block.draws}",
            hint="take a bigger label",
        )
    lay = {
        "qr": _lay_qr,
        "barcode": _lay_barcode,
        "sign": _lay_sign,
        "mark": _lay_mark,
        "stripe": _lay_ornament,
        "shoreline": _lay_ornament,
    }.get(block.draws, _lay_shape)
    return lay(printed, block, box)


def _shown(printed: Printed, block: Block) -> bool:
    """Whether a block that is no text has something to show, so that it takes room in a stack."""
    box = block.edges.within(
        Rect(left=0, top=0, width=100, height=max(block.edges.height_mm or 0, 1))
    )
    if block.draws in ("mark", "stripe", "shoreline", "barcode", "sign"):
        return _lay_other(printed, block, box) is not None
    return True


def _pieces(printed: Printed, texts: Mapping[str, str], block: Block) -> list[Piece]:
    if block.moods and printed.look.mood not in block.moods:
        return []
    if block.draws in ("text", "arc"):
        return [*text_pieces(printed, texts, block)]
    if block.stack and not _shown(printed, block):
        return []
    return [Piece(block=block, height_mm=block.edges.height_mm or 0.0)]


def _lay_tied(printed: Printed, piece: Piece, label: Rect) -> Item | None:
    """A piece that its own edges tie down."""
    block = piece.block
    box = block.edges.within(printed.face.panel_rect(block.panel, label))
    if isinstance(piece, TextPiece) and block.draws == "arc":
        return lay_arc(piece, label, _colour(block, printed.seen()))
    if isinstance(piece, TextPiece):
        return _lay_text(printed, piece, box)
    return _lay_other(printed, block, box)


def _lay_stack(
    printed: Printed, panel: str, pieces: Sequence[Piece], label: Rect, warnings: list[str]
) -> list[tuple[Piece, Item]]:
    """All stacks of one panel."""
    rect = printed.face.panel_rect(panel, label)
    try:
        placed, dropped = solve(pieces, rect, printed.law)
    except NoRoomError as err:
        raise _refuse_piece(printed, err.piece, err.box) from None
    warnings += [f"left out: {words_for(piece.holds)}" for piece in dropped if piece.holds]
    found: list[tuple[Piece, Item]] = []
    for one in placed:
        piece, item = one.piece, cast("Item | None", None)
        if one.fitted is None or not isinstance(piece, TextPiece):
            item = _lay_other(printed, piece.block, one.box)
        else:
            item = _place_text(
                piece.block,
                piece.holds,
                box=one.box,
                font=piece.font,
                set_text=one.fitted,
                look=printed.seen(),
            )
        if item is not None:
            found.append((piece, item))
    return found


def _refuse_piece(printed: Printed, piece: Piece, box: Rect) -> RuleBroken:
    if not isinstance(piece, TextPiece):
        return RuleBroken(
            f"face '{printed.face.name}' has no room for"
            f" {words_for(piece.block.holds) or piece.block.draws}",
            hint="take a bigger label",
        )
    return _refuse_text(
        printed, piece.block, piece.font, text=piece.text, least_pt=piece.least_pt, box=box
    )


def _place_all(printed: Printed, label: Rect, warnings: list[str]) -> list[tuple[Piece, Item]]:
    """Every block of the face in its place, in the face's own order.

    A stack comes where its first block stands.
    """
    texts, ringed = printed.texts(), printed.look.mood == "ringed"
    blocks = [
        replace(block, panel=block.ringed) if ringed and block.ringed else block
        for block in printed.face.blocks
    ]
    pieces = [(block, _pieces(printed, texts, block)) for block in blocks]
    stacks: dict[str, list[Piece]] = {}
    for block, made in pieces:
        if block.stack:
            stacks.setdefault(block.panel, []).extend(made)
    placed: list[tuple[Piece, Item]] = []
    for block, made in pieces:
        if block.stack:
            if found := stacks.pop(block.panel, []):
                placed += _lay_stack(printed, block.panel, found, label, warnings)
            continue
        for piece in made:
            try:
                item = _lay_tied(printed, piece, label)
            except RuleBroken as err:
                if not block.optional:
                    raise
                warnings.append(f"left out: {err.message}")
                continue
            if item is not None:
                placed.append((piece, item))
    return placed


def _with_bold(rule: str, citation: str | None) -> str:
    return rule if citation is None else f"{rule}; bold type by {citation}"


def _sizes(printed: Printed, placed: Sequence[tuple[Piece, Item]]) -> tuple[SizeNote, ...]:
    notes = []
    for piece, item in placed:
        heading = isinstance(piece, TextPiece) and piece.heading
        if not isinstance(item, TextItem | ArcItem) or heading:
            continue
        for kind in item.holds:
            need, _ = need_of(kind, piece.block, printed.face, item.font, printed.law)
            notes.append(
                SizeNote(
                    kind=kind,
                    size_pt=item.size_pt,
                    letter_mm=item.letter_mm(need.measured),
                    least_mm=need.mm,
                    measured=need.measured,
                    rule=_with_bold(need.rule, printed.law.bold.get(kind)),
                    confidence=need.confidence,
                )
            )
    return tuple(notes)


def lay_out(printed: Printed, *, width_mm: float, height_mm: float) -> Layout:
    """A label of that size, laid out and checked.

    Args:
        printed: wording, face and what binds them.
        width_mm: of the label.
        height_mm: of the label.

    Raises:
        RuleBroken: a required statement has no place, something does not fit at its smallest
            allowed size, two things overlap, or a character has no glyph.
    """
    label = Rect(left=0, top=0, width=width_mm, height=height_mm)
    warnings = _unplaced(printed)
    placed = _place_all(printed, label, warnings)
    items = tuple(item for _, item in placed)
    check_places(items, printed.face, label, printed.law, printed.corner_mm)
    return Layout(
        width_mm=width_mm,
        height_mm=height_mm,
        items=items,
        sizes=_sizes(printed, placed),
        warnings=tuple(warnings),
    )
