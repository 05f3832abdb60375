"""The open TrueType faces we print with, embedded and subset, and their measurements.

Which they are stands in tables/design/hand.toml. A text with a letter that its face lacks is set in
the face named there to stand in; a letter that this one lacks too is an error that names it: a
label never shows a black box. Heights are those of the font's own OS/2 table, as share of the type
size (the em).
"""

from __future__ import annotations

import hashlib
import unicodedata
from dataclasses import dataclass, replace
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Literal

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont

from soapstock.errors import BadTable, RuleBroken
from soapstock.tables import read_toml
from soapstock.units import MM_PER_PT

Measured = Literal["o", "capital", "figure"]
REGULAR = "regular"
SEMIBOLD = "semibold"
SERIF, ITALIC, CONDENSED = "serif", "italic", "condensed"
TABLE = "design/hand.toml"
_X_HEIGHT_OFFSET, _CAP_HEIGHT_OFFSET = 86, 88  # OpenType OS/2 table, version 2 and later


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)  # one object a face: hashed by identity
class Font:
    """One embedded face.

    Attributes:
        name: name it is registered under in the PDF library.
        x_height: height of the lower-case x (and so of a flat lower-case o), in em.
        cap_height: height of a capital H, in em.
        figure_height: height of the figure 1, in em.
        ascent: height kept free above the baseline, in em: tall letters and accents on small ones.
        descent: depth kept free below the baseline, in em, positive.
        tracking_em: space added after each letter.
        thicker_em: width of the outline drawn round each letter to make it bolder.
    """

    name: str
    x_height: float
    cap_height: float
    figure_height: float
    glyphs: frozenset[int]
    ascent: float = 0.76
    descent: float = 0.22
    tracking_em: float = 0.0
    thicker_em: float = 0.0

    def width_mm(self, text: str, size_pt: float) -> float:
        """Width in mm of one line of text at that size, from the first letter to the last."""
        plain = float(pdfmetrics.stringWidth(text, self.name, size_pt))
        more = self.tracking_em * max(len(text) - 1, 0) + self.thicker_em
        return (plain + more * size_pt) * MM_PER_PT

    def has(self, text: str) -> bool:
        """Whether every letter of a text has a glyph; line breaks need none."""
        return all(char == "\n" or ord(char) in self.glyphs for char in text)

    def height_em(self, measured: Measured) -> float:
        """Height in em of the letter that a rule measures."""
        return {"o": self.x_height, "capital": self.cap_height, "figure": self.figure_height}[
            measured
        ]

    def size_for_pt(self, height_mm: float, measured: Measured) -> float:
        """Type size at which that letter stands at least so high, in points."""
        return height_mm / MM_PER_PT / self.height_em(measured)


def _folder(package: str) -> Path:
    # Some of these packages import a module that modern setuptools no longer carries, so they are
    # located, never imported.
    spec = find_spec(package)
    places = list(spec.submodule_search_locations or ()) if spec else []
    if not places:
        raise BadTable(
            f"the font package {package.replace('_', '-')} is missing",
            hint="install soapstock again; it brings its fonts",
        )
    return Path(places[0]) / "files"


def _top_em(face: Any, char: str) -> float:
    """Top of a glyph's outline, em: the yMax of its OpenType glyf header."""
    start = face.get_table_pos("glyf")[0] + face.glyphPos[face.charToGlyph[ord(char)]]
    top = int.from_bytes(face.get_chunk(start + 8, 2), "big", signed=True)
    return top / float(face.unitsPerEm)


def _read_font(path: Path, name: str) -> Font:
    try:
        font = TTFont(name, str(path))
    except (OSError, TTFError) as err:
        raise BadTable(
            f"font {path} cannot be used: {err}", hint="give a TrueType (.ttf) file"
        ) from err
    pdfmetrics.registerFont(font)
    face: Any = font.face
    os2 = face.get_table("OS/2")

    def em(offset: int, otherwise: float) -> float:
        if len(os2) < offset + 2:
            return otherwise
        units = int.from_bytes(os2[offset : offset + 2], "big", signed=True)
        return units / float(face.unitsPerEm)

    return Font(
        name=name,
        x_height=em(_X_HEIGHT_OFFSET, 0.45),
        cap_height=min(em(_CAP_HEIGHT_OFFSET, 0.65), _top_em(face, "H")),
        figure_height=_top_em(face, "1"),
        glyphs=frozenset(face.charToGlyph),
    )


@cache
def get_font(weight: str, file: Path | None = None) -> Font:
    """The font of that name in hand.toml, such as `regular`, registered with the PDF library.

    Args:
        weight: of the shipped faces.
        file: the maker's own TrueType file instead, or None.

    Raises:
        BadTable: the font package is not installed, the weight is not shipped, or the file is no
            TrueType font.
    """
    if file is not None:
        digest = hashlib.sha256(str(file).encode()).hexdigest()[:12]
        return _read_font(file, f"Own-{file.stem}-{digest}")
    table = read_toml(TABLE)["fonts"]
    if weight not in table:
        raise BadTable(f"no font weight '{weight}'", hint=f"use one of: {', '.join(table)}")
    row = table[weight]
    font = _read_font(_folder(row["package"]) / row["file"], f"Soapstock-{weight.capitalize()}")
    return replace(
        font,
        ascent=float(row["ascent"]),
        descent=float(row["descent"]),
        thicker_em=float(row.get("thicker_em", 0)),
    )


@cache
def tracked(font: Font, tracking_em: float) -> Font:
    """The same font with so much space between its letters, em."""
    return replace(font, tracking_em=tracking_em) if tracking_em else font


def font_for(text: str, weight: str) -> Font:
    """The font of that name, or its stand-in where it lacks a letter of the text.

    Raises:
        BadTable: as get_font.
    """
    font = get_font(weight)
    stand_in = read_toml(TABLE)["fonts"][weight].get("otherwise", "")
    composed = unicodedata.normalize("NFC", text)
    return get_font(stand_in) if stand_in and not font.has(composed) else font


def clean(text: str, font: Font, where: str) -> str:
    """The text composed (NFC) and with every character checked against the face.

    Args:
        text: what is to be printed; line breaks allowed.
        font: face it is printed in.
        where: what the text is, for the error.

    Raises:
        RuleBroken: a character has no glyph; the message names it.
    """
    composed = unicodedata.normalize("NFC", text)
    for char in composed:
        if char != "\n" and (ord(char) not in font.glyphs or ord(char) < ord(" ")):
            name = unicodedata.name(char, "a control character")
            raise RuleBroken(
                f"{where}: the label font has no character '{char}' (U+{ord(char):04X}, {name})",
                hint="write it with another character or in words",
            )
    return composed
