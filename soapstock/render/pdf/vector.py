"""A maker's SVG drawing on a label, as vector shapes.

The svglib library draws it. Before it sees the file, the file is checked against what a mark on a
label needs: filled and outlined shapes in flat colours. Whatever could reach outside the file
(links, pictures, entities), run (scripts, animation), grow without end (clones), or come out as
something else than the maker saw (text in a font we do not have, gradients, masks) is refused with
the cure named, never left out silently.

Element and attribute names: SVG 1.1 (W3C Recommendation, second edition, 2011).
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from io import BytesIO
from pathlib import Path
from typing import Any
from xml.parsers.expat import ExpatError, ParserCreate

from reportlab.graphics import renderPDF
from reportlab.lib.units import mm

from soapstock.errors import BadTable
from soapstock.render.pdf.fonts import REGULAR, get_font
from soapstock.render.pdf.geometry import Rect

MAX_BYTES = 500_000
MAX_ELEMENTS = 3000
MAX_DEPTH = 40
MAX_SIDE = 100_000.0  # of the drawing, in its own units
MAX_SHAPE = 100.0  # times longer than wide
_SVG = "http://www.w3.org/2000/svg "
_SHAPES = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
_DRAWN = _SHAPES | {"svg", "g", "defs", "style"}
_SILENT = {"title", "desc", "metadata"}  # words about the drawing: nothing of them is drawn
_CURES = {
    "text": "turn text into paths in the drawing program",
    "tspan": "turn text into paths in the drawing program",
    "image": "put the picture on the face as a block of its own",
    "use": "unlink clones in the drawing program",
    "symbol": "unlink symbols in the drawing program",
    "script": "save it as plain SVG",
    "linearGradient": "use flat colours",
    "radialGradient": "use flat colours",
    "filter": "draw it without effects",
    "mask": "draw it without masks",
    "clipPath": "cut the shapes instead of clipping them",
}
_KEEP_TO = "keep to shapes in flat colours, saved as plain SVG"


class _Check:
    """Refuses what may not stand in a drawing, while expat reads it.

    Args:
        path: the file, for messages.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._elements = self._depth = self._shapes = 0
        self._silent = 0  # depth of the element nothing of which is drawn
        self._in_style = False
        self._styles: list[str] = []

    def refuse(self, what: str, hint: str = _KEEP_TO) -> BadTable:
        """The error, with the file's name."""
        return BadTable(f"drawing {self._path} {what}", hint=hint)

    def doctype(self, *_: Any) -> None:
        """A document type may declare entities and name other files."""
        raise self.refuse("begins with a DOCTYPE", "delete that line, or save it as plain SVG")

    def start(self, tag: str, attributes: Mapping[str, str]) -> None:
        """Check an element."""
        self._elements += 1
        self._depth += 1
        if self._elements > MAX_ELEMENTS or self._depth > MAX_DEPTH:
            raise self.refuse(
                f"has more than {MAX_ELEMENTS} elements or {MAX_DEPTH} levels", "simplify it"
            )
        name = tag.removeprefix(_SVG)
        if self._elements == 1:
            if tag != f"{_SVG}svg":
                raise self.refuse("is no SVG", "save it as plain SVG")
            self._check_size(attributes)
        if self._silent:
            return
        if name in _SILENT or (name == tag and " " in tag):  # or a drawing program's own notes
            self._silent = self._depth
            return
        if name not in _DRAWN or (name == "svg" and self._elements > 1):
            raise self.refuse(f"holds <{name}>", _CURES.get(name, _KEEP_TO))
        self._shapes += name in _SHAPES
        self._in_style = name == "style"
        for key, value in attributes.items():
            self._check_attribute(key.rsplit(" ", 1)[-1], value)

    def end(self, _: str) -> None:
        """Leave an element."""
        if self._silent == self._depth:
            self._silent = 0
        self._depth -= 1
        self._in_style = False

    def words(self, text: str) -> None:
        """Style rules are checked as attributes are."""
        if self._in_style and not self._silent:
            self._styles.append(text)

    def finish(self) -> None:
        """What can be told at the end only."""
        self._check_style("".join(self._styles))
        if not self._shapes:
            raise self.refuse("draws nothing")

    def _check_attribute(self, key: str, value: str) -> None:
        if key == "href" or key.lower().startswith("on"):
            raise self.refuse(f"holds {key}=", "save it as plain SVG without links or scripts")
        self._check_style(value)

    def _check_style(self, text: str) -> None:
        plain = text.lower()
        if any(found in plain for found in ("url(", "@", "\\", "javascript:", "expression(")):
            raise self.refuse(
                "refers to something else (url, @import, gradient, mask)", "use flat colours"
            )

    def _check_size(self, attributes: Mapping[str, str]) -> None:
        said = attributes.get("viewBox")
        sides = (
            said.replace(",", " ").split()[2:]
            if said
            else [attributes.get(key, "").rstrip("pxtmcin") for key in ("width", "height")]
        )
        try:
            width, height = (float(side) for side in sides)
        except ValueError:
            raise self.refuse("does not say its size", "give it a viewBox") from None
        good = all(0 < side <= MAX_SIDE for side in (width, height))
        if not good or not 1 / MAX_SHAPE <= width / height <= MAX_SHAPE:
            raise self.refuse(
                f"is {width:g} x {height:g} units",
                f"make its page as large as the drawing, at most {MAX_SIDE:g}",
            )


def _checked(path: Path) -> bytes:
    """The file's bytes, if all that is in them may be drawn."""
    check = _Check(path)
    try:
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except OSError as err:
        raise check.refuse(f"cannot be read: {err.strerror}", "check the file's name") from err
    if len(data) > MAX_BYTES:
        raise check.refuse(f"is over {MAX_BYTES // 1000} KB", "simplify it")
    parser = ParserCreate(namespace_separator=" ")
    parser.StartDoctypeDeclHandler = check.doctype
    parser.StartElementHandler = check.start
    parser.EndElementHandler = check.end
    parser.CharacterDataHandler = check.words
    try:
        parser.Parse(data, True)
    except (ExpatError, ValueError, LookupError) as err:
        raise check.refuse(f"is not well-formed: {err}", "save it again as plain SVG") from err
    check.finish()
    return data


@lru_cache(maxsize=8)
def _drawing(path: Path, _changed_ns: int) -> Any:
    from svglib.svglib import svg2rlg  # noqa: PLC0415 - heavy, and few labels carry a drawing

    data = _checked(path)
    try:
        drawing = svg2rlg(BytesIO(data))
        good = drawing is not None and drawing.width > 0 and drawing.height > 0
    except Exception as err:  # the library raises whatever its parsers do
        raise BadTable(f"drawing {path} cannot be drawn: {err}", hint=_KEEP_TO) from err
    if not good:
        raise BadTable(f"drawing {path} cannot be drawn", hint=_KEEP_TO)
    # The library's initial state names a font; without words it is used for nothing, but its name
    # would stand in the PDF as a font that is not embedded.
    drawing.__dict__["initialFontName"] = get_font(REGULAR).name
    return drawing


def draw_svg(canvas: Any, path: Path, box: Rect, height_mm: float) -> None:
    """An SVG file as large as its box allows, in its middle, on a label of that height.

    Args:
        canvas: drawn on.
        path: the file.
        box: where, mm from the label's upper left corner.
        height_mm: of the label.

    Raises:
        BadTable: the file cannot be read, or holds what may not be drawn; names file and cure.
    """
    try:
        changed_ns = path.stat().st_mtime_ns
    except OSError as err:
        raise BadTable(
            f"drawing {path} cannot be read: {err.strerror}", hint="check the file's name"
        ) from err
    drawing = _drawing(path, changed_ns)
    scale = min(box.width * mm / drawing.width, box.height * mm / drawing.height)
    left = box.left * mm + (box.width * mm - drawing.width * scale) / 2
    low = (height_mm - box.bottom) * mm + (box.height * mm - drawing.height * scale) / 2
    canvas.saveState()
    try:
        page = canvas.beginPath()
        page.rect(left, low, drawing.width * scale, drawing.height * scale)
        canvas.clipPath(page, stroke=0, fill=0)  # what runs over the drawing's page is cut off
        canvas.translate(left, low)
        canvas.scale(scale, scale)
        renderPDF.draw(drawing, canvas, 0, 0)
    except Exception as err:
        raise BadTable(f"drawing {path} cannot be drawn: {err}", hint=_KEEP_TO) from err
    canvas.restoreState()
