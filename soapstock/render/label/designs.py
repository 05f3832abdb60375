"""Label designs as data: faces (what stands where on a label) and sheets (where labels stand).

Both are TOML files in millimetres; a shop's own folder is looked in before the shipped one. The
loader is strict: an unknown key, a wrong type or a box without edges is an error naming the file.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import MISSING, dataclass, field, fields, replace
from difflib import get_close_matches
from functools import cache
from pathlib import Path
from typing import Any, Literal, TypeVar, get_args, get_origin, get_type_hints

from soapstock.errors import BadTable, NotFound
from soapstock.render.pdf.geometry import EDGE_KEYS, Edges, Rect
from soapstock.tables import read_toml
from soapstock.tables.fields import Fields, Source

T = TypeVar("T")
Align = Literal["left", "centre", "right", "axis"]
VAlign = Literal["top", "middle", "bottom"]
Stack = Literal["", "top", "middle", "bottom"]
Weight = Literal["regular", "semibold", "serif", "italic", "condensed"]
Mood = Literal["quiet", "tinted", "ringed"]
MOODS: tuple[Mood, ...] = get_args(Mood)
Draws = Literal[
    "text",
    "arc",
    "qr",
    "barcode",
    "sign",
    "rule",
    "frame",
    "ring",
    "image",
    "tile",
    "stripe",
    "shoreline",
    "mark",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """A part of a face, such as the front of a band.

    Attributes:
        name: used by blocks.
        edges: where it stands in the label.
        display: it is the principal display panel.
        blank: nothing may be printed on it (a glue tab).
    """

    name: str
    edges: Edges
    display: bool = False
    blank: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """One thing on a face.

    It is tied down by its edges, or it stands in a `stack` of its panel: then only its sides may be
    given, its text takes the height it needs, and the panel's slack goes to one place.

    Attributes:
        draws: `text`, `arc` (text on a circle), `qr`, `barcode`, `sign` (one that stands for a
            statement), `rule` (a filled bar), `frame` (an outline), `ring` (an oval outline, such
            as a hole), `tile` (a ground in the tint of the variety's ink, under other things),
            `image`; from the ledger `stripe` (the fats, wide as their share) and `shoreline` (the
            drying curve); `mark` is the maker's own drawing.
        holds: statement kinds the text is made of, top to bottom; a kind not on the label is left
            out. For a barcode `retail` or `gs1_128`.
        text: the face's own words, set before the statements.
        image: file of a picture (PNG, JPEG or SVG), beside the face or in the label folder.
        edges: where it stands in its panel.
        panel: name of a panel, or empty for the whole label.
        ringed: the panel it stands in instead when the mood is ringed.
        stack: from the top of its panel, in the middle of what is left, or from the bottom.
        gap: name of the space (tables/design/hand.toml) between it and the one before it; in a
            stack from the bottom, the one below it.
        size_pt: type size wished for.
        min_height_mm: least height of the lower-case o; 0 = the face's own.
        align: `axis` is the mood's: centred when ringed, else left.
        kicker: what stands before the colon is set as a small heading above the rest.
        keep_lines: rather take smaller type (never below the least) than break an address's line.
        optional: may be dropped when it does not fit.
        line_mm: thickness of a frame's outline; of a tile's, where there is no tint.
        inset_mm: of an arc: from the label's edge to the foot of the letters.
        oval: a tile or frame is an oval.
        white: a tile is white.
        moods: those it is drawn in; empty is all.
    """

    draws: Draws
    edges: Edges
    holds: tuple[str, ...] = ()
    text: str = ""
    image: str = ""
    panel: str = ""
    ringed: str = ""
    stack: Stack = ""
    gap: str = "tight"
    font: Weight = "regular"
    colour: Literal["black", "ink"] = "black"
    case: Literal["as_written", "capitals"] = "as_written"
    tracking_em: float = 0.0
    size_pt: float = 8.6
    min_height_mm: float = 0.0
    leading: float = 1.2
    align: Align = "left"
    valign: VAlign = "top"
    joined_by: str = "\n"
    kicker: bool = False
    optional: bool = False
    keep_lines: bool = False
    line_mm: float = 0.25
    inset_mm: float = 0.0
    oval: bool = False
    white: bool = False
    moods: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """What stands where on a label.

    Attributes:
        name: file name without ending.
        about: one line for lists.
        width_mm: natural width, the least it is made for.
        height_mm: natural height, the least it is made for.
        max_width_mm: it stretches up to this width on a bigger label.
        max_height_mm: it stretches up to this height on a bigger label.
        min_height_mm: least height of the lower-case o of any text on it.
        clear_mm: least distance of any print from the label's edge.
        bleed_mm: rules, frames and pictures may run so far over the label's edge.
        partial: it is not meant to hold all statements (a tag, a shelf card).
        regular_font: the maker's own TrueType file for `regular`, beside the face's folder.
        semibold_font: the same for `semibold`.
        suits: sheets it goes on, best first.
        folder: label folder the face was read from.
    """

    name: str
    about: str
    width_mm: float
    height_mm: float
    blocks: tuple[Block, ...]
    panels: Mapping[str, Panel] = field(default_factory=dict)
    shape: Literal["rectangle", "round", "oval"] = "rectangle"
    max_width_mm: float = 0.0
    max_height_mm: float = 0.0
    min_height_mm: float = 1.2
    clear_mm: float = 1.5
    bleed_mm: float = 0.0
    partial: bool = False
    regular_font: str = ""
    semibold_font: str = ""
    suits: tuple[str, ...] = ()
    folder: Path | None = None

    def file(self, name: str) -> Path:
        """A file in the label folder or beside the face. Raises BadTable if it leads elsewhere."""
        if not name or self.folder is None:
            raise BadTable(f"face '{self.name}' names no file", hint="give image its file name")
        if not name.isprintable():
            raise BadTable(f"face '{self.name}': '{name}' is no file name", hint="mend the face")
        root = self.folder.resolve()
        places = [(folder / name).resolve() for folder in (root, root / "faces")]
        path = next((place for place in places if place.is_file()), places[0])
        if not path.is_relative_to(root):
            raise BadTable(
                f"face '{self.name}': file '{name}' lies outside the label folder",
                hint="put it beside the face, or beside the folder faces/",
            )
        return path

    def font_file(self, weight: str) -> Path | None:
        """The maker's own font file for that weight, or None for the shipped one."""
        name = self.semibold_font if weight == "semibold" else self.regular_font
        return self.file(name) if name else None

    def size_on(self, sheet: Sheet) -> tuple[float, float] | None:
        """Width and height in mm it takes on that sheet's labels; None when they are too small."""
        room_x, room_y = sheet.printable_mm
        if room_x < self.width_mm - 1e-6 or room_y < self.height_mm - 1e-6:
            return None
        if (self.shape == "rectangle") != (sheet.shape == "rectangle"):
            return None
        return (
            min(room_x, max(self.max_width_mm, self.width_mm)),
            min(room_y, max(self.max_height_mm, self.height_mm)),
        )

    def panel_rect(self, name: str, label: Rect) -> Rect:
        """Where a panel stands; the empty name is the whole label."""
        return self.panels[name].edges.within(label) if name else label

    def display_rect(self, label: Rect) -> Rect:
        """The principal display panel; the whole label when no panel is marked so."""
        for panel in self.panels.values():
            if panel.display:
                return panel.edges.within(label)
        return label


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A sheet of labels, or a roll whose every label is one page. All lengths in mm.

    Attributes:
        name: file name without ending, after its geometry.
        about: one line for lists.
        columns: labels across.
        rows: labels down.
        left_mm: paper's left edge to the first label.
        top_mm: paper's top edge to the first label.
        pitch_x_mm: from one label's left edge to the next one's; 0 = the label's width.
        pitch_y_mm: from one label's top edge to the next one's; 0 = the label's height.
        corner_mm: radius of the labels' corners.
        dpi: of a roll printer, so that QR modules fall on whole dots; 0 for an office printer.
        cut: `none` for die-cut labels, `outline` or `marks` for plain paper that is cut by hand.
    """

    name: str
    about: str
    paper_width_mm: float
    paper_height_mm: float
    label_width_mm: float
    label_height_mm: float
    columns: int = 1
    rows: int = 1
    left_mm: float = 0.0
    top_mm: float = 0.0
    pitch_x_mm: float = 0.0
    pitch_y_mm: float = 0.0
    corner_mm: float = 0.0
    dpi: int = 0
    cut: Literal["none", "outline", "marks"] = "none"
    shape: Literal["rectangle", "round", "oval"] = "rectangle"

    @property
    def per_page(self) -> int:
        """Labels on one page."""
        return self.columns * self.rows

    @property
    def printable_mm(self) -> tuple[float, float]:
        """Width and height in the middle of each label that no label has off the printer's reach.

        An office printer leaves the rim of the paper white; a roll printer prints to its edges.
        """
        rim = 0.0 if self.dpi else float(read_toml(HAND)["rim"]["mm"])
        first, last = self.cell(0), self.cell(self.per_page - 1)
        across = min(first.left, self.paper_width_mm - last.right)
        down = min(first.top, self.paper_height_mm - last.bottom)
        lost_x, lost_y = 2 * max(rim - across, 0.0), 2 * max(rim - down, 0.0)
        return self.label_width_mm - lost_x, self.label_height_mm - lost_y

    def cell(self, index: int) -> Rect:
        """Label number `index` (from 0, row by row) on the page."""
        row, column = divmod(index, self.columns)
        return Rect(
            left=self.left_mm + column * (self.pitch_x_mm or self.label_width_mm),
            top=self.top_mm + row * (self.pitch_y_mm or self.label_height_mm),
            width=self.label_width_mm,
            height=self.label_height_mm,
        )


HAND = "design/hand.toml"
_MOST_MM = 5000.0
_SIZE_MM = (1.0, _MOST_MM)
_OVER_EDGE_MM = (-_MOST_MM, _MOST_MM)  # negative is over the edge: bleed
_LEAST_TYPE_MM = 0.8  # the least of 21 CFR 701.3(b)
# Least and most of the figures; all others are from 0 to _MOST_MM.
_RANGES: Mapping[type, Mapping[str, tuple[float, float]]] = {
    Edges: {f"{edge}_mm": _OVER_EDGE_MM for edge in ("left", "right", "top", "bottom")},
    Block: {
        "min_height_mm": (_LEAST_TYPE_MM, _MOST_MM),
        "leading": (0.9, 10.0),
        "size_pt": (4.0, 1000.0),
        "tracking_em": (0.0, 1.0),
    },
    Face: {
        "width_mm": _SIZE_MM,
        "height_mm": _SIZE_MM,
        "min_height_mm": (_LEAST_TYPE_MM, _MOST_MM),
    },
    Sheet: {
        "paper_width_mm": _SIZE_MM,
        "paper_height_mm": _SIZE_MM,
        "label_width_mm": _SIZE_MM,
        "label_height_mm": _SIZE_MM,
        "columns": (1, 1000),
        "rows": (1, 1000),
    },
}


def _keys(kind: type, *leave_out: str) -> list[str]:
    return [each.name for each in fields(kind) if each.name not in leave_out]


_NOT_READ = {Face: ("name", "panels", "blocks", "folder"), Sheet: ("name",)}
_BOX_KEYS = {kind: [*_keys(kind, "name", "edges"), *EDGE_KEYS] for kind in (Panel, Block)}
_types_of = cache(get_type_hints)


def _value(table: Fields, kind: type, key: str) -> Any:
    """The key's value, of the type that the record's field has."""
    wanted = _types_of(kind)[key]
    low, high = _RANGES.get(kind, {}).get(key, (0, _MOST_MM))
    if get_origin(wanted) is Literal:
        return table.choice(key, get_args(wanted))
    if wanted is int:
        return table.whole(key, int(low), int(high))
    if wanted is bool:
        return table.flag(key)
    if wanted is str:
        return table.as_written(key)
    return table.texts(key) if wanted == tuple[str, ...] else table.number(key, low, high)


def _values(table: Fields, kind: type, *leave_out: str) -> dict[str, Any]:
    """Keyword arguments of the record from a table; raises BadTable."""
    out: dict[str, Any] = {}
    for each in fields(kind):
        if each.name in leave_out:
            continue
        if table.has(each.name):
            out[each.name] = _value(table, kind, each.name)
        elif each.default is MISSING and each.default_factory is MISSING:
            raise table.fail(each.name, "is missing", "add it to the file")
    return out


def _box(table: Fields, kind: type) -> dict[str, Any]:
    """The same for a record that has a place: a panel or a block."""
    edges = Edges(**_values(table, Edges))
    if kind is Block and table.has("stack"):
        edges = edges.in_stack()
    elif kind is Block and table.data.get("draws") == "arc":
        edges = Edges(left_mm=0, right_mm=0, top_mm=0, bottom_mm=0)
    if fault := edges.fault():
        raise table.fail("", "the box is not tied down", fault)
    return {"edges": edges, **_values(table, kind, "name", "edges")}


def _top(text: str, where: str, kind: type, *more: str) -> Fields:
    source = Source(text=text, where=where, error=BadTable)
    return Fields(source, "", source.load(), [*_keys(kind, *_NOT_READ[kind]), *more])


def _check_words(table: Fields, block: Block) -> None:
    """Names that the tables know: spaces and moods."""
    spaces = read_toml(HAND)["spaces"]
    if block.gap not in spaces:
        raise table.fail("gap", f"'{block.gap}' is no space", f"spaces: {', '.join(spaces)}")
    if strange := [mood for mood in block.moods if mood not in MOODS]:
        raise table.fail("moods", f"'{strange[0]}' is no mood", f"moods: {', '.join(MOODS)}")


def parse_face(text: str, name: str, where: str) -> Face:
    """A face from its TOML. Raises BadTable naming `where` and the key."""
    top = _top(text, where, Face, "panels", "blocks")
    panels = {
        key: Panel(name=key, **_box(table, Panel))
        for key, table in top.tables("panels", _BOX_KEYS[Panel]).items()
    }
    blocks: list[Block] = []
    for table in top.rows("blocks", _BOX_KEYS[Block]):
        block = Block(**_box(table, Block))
        for key in ("panel", "ringed"):
            named = getattr(block, key)
            if named and named not in panels:
                known = f"panels: {', '.join(panels)}" if panels else "the face has no panels"
                raise table.fail(key, f"there is no panel '{named}'", known)
        _check_words(table, block)
        blocks.append(block)
    if not blocks:
        raise top.fail("", "there are no [[blocks]]", "add what the face shows")
    return Face(
        name=name, panels=panels, blocks=tuple(blocks), **_values(top, Face, *_NOT_READ[Face])
    )


def parse_sheet(text: str, name: str, where: str) -> Sheet:
    """A sheet from its TOML. Raises BadTable naming `where` and the key, or labels off paper."""
    top = _top(text, where, Sheet)
    sheet = Sheet(name=name, **_values(top, Sheet, *_NOT_READ[Sheet]))
    paper = Rect(left=0, top=0, width=sheet.paper_width_mm, height=sheet.paper_height_mm)
    for index in (0, sheet.per_page - 1):
        if not paper.holds(sheet.cell(index), slack=0.05):
            raise BadTable(
                f"{where}: label {index + 1} stands off the paper",
                hint="check left_mm, top_mm, the label's size, the pitch and the paper",
            )
    if 0 < sheet.pitch_x_mm < sheet.label_width_mm or 0 < sheet.pitch_y_mm < sheet.label_height_mm:
        raise BadTable(f"{where}: labels overlap", hint="the pitch is at least the label's size")
    return sheet


def _load(
    kind: str, name: str, folders: Sequence[Path], parse: Callable[[str, str, str], T]
) -> tuple[T, Path]:
    names = _list(kind, folders)
    if name not in names:
        near = get_close_matches(name, names, 3) or names
        raise NotFound(f"no {kind[:-1]} called '{name}'", hint=f"there are: {', '.join(near)}")
    path = names[name]
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as err:
        raise BadTable(f"{path} cannot be read: {err.__class__.__name__}") from err
    return parse(text, name, str(path)), path


def _list(kind: str, folders: Sequence[Path]) -> dict[str, Path]:
    found: dict[str, Path] = {}
    for folder in reversed(folders):
        found |= {path.stem: path for path in sorted((folder / kind).glob("*.toml"))}
    return dict(sorted(found.items()))


def list_faces(folders: Sequence[Path]) -> list[str]:
    """Names of all faces in the folders' `faces/`."""
    return list(_list("faces", folders))


def list_sheets(folders: Sequence[Path]) -> list[str]:
    """Names of all sheets in the folders' `sheets/`."""
    return list(_list("sheets", folders))


def load_face(name: str, folders: Sequence[Path]) -> Face:
    """The face of that name; the first folder that has it wins.

    Args:
        name: file name without ending.
        folders: label folders, the shop's own before the shipped one.

    Raises:
        NotFound: none of that name; the hint offers near ones.
        BadTable: the file is wrong.
    """
    face, path = _load("faces", name, folders, parse_face)
    return replace(face, folder=path.parent.parent)


def load_sheet(name: str, folders: Sequence[Path]) -> Sheet:
    """The sheet of that name; the first folder that has it wins. Raises as load_face."""
    return _load("sheets", name, folders, parse_sheet)[0]
