"""Linear barcodes for a shop with a GTIN: EAN-13, UPC-A, and GS1-128 with lot and best-before.

The reportlab library encodes; here bars are placed and the figures set in our own embedded font.
Quiet zones in modules: EAN-13 11 left and 7 right, UPC-A 9 and 9, GS1-128 10 and 10; module at
least 0.264 mm for the two retail codes, 0.25 mm for GS1-128 (GS1 General Specifications, from
memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any

from soapstock.codes.gs1 import element_string, validate_gtin
from soapstock.errors import BadInput

FNC1 = "\xf1"  # how reportlab's Code 128 writes the function character that makes it GS1-128
_RETAIL_DIGITS = {"upca": 12, "ean13": 13}


@dataclass(frozen=True, slots=True, kw_only=True)
class Symbol:
    """An encoded barcode.

    Attributes:
        bars: first module and width in modules of each dark bar.
        modules: width without quiet zones.
        quiet: modules kept free left and right.
        least_mm: least module width, mm.
        figures: what is printed under the bars.
    """

    bars: tuple[tuple[int, int], ...]
    modules: int
    quiet: tuple[int, int]
    least_mm: float
    figures: str


def codes_for(gtin: str, lot_code: str, best_before: date | None = None) -> Mapping[str, str]:
    """The barcodes a label may carry: `retail` (EAN-13 or UPC-A) and `gs1_128` (element string).

    Args:
        gtin: the product's GTIN, 8 to 14 digits.
        lot_code: compact.
        best_before: goes into the GS1-128 when there is one.

    Raises:
        BadInput: GTIN or lot not valid, or a GTIN of a case (not starting with 0), which a bar's
            label may not carry.
    """
    digits = validate_gtin(gtin)
    if not digits.startswith("0"):
        raise BadInput(
            f"GTIN {gtin} is that of a case, not of a bar", hint="use the bar's own 12 or 13 digits"
        )
    retail = digits[2:] if digits.startswith("00") else digits[1:]
    return {"retail": retail, "gs1_128": element_string(digits, lot_code, best_before)}


def _rectangles(group: Any) -> Iterator[tuple[int, int]]:
    for shape in group.contents:
        if hasattr(shape, "contents"):
            yield from _rectangles(shape)
        elif getattr(shape, "fillColor", None) is not None and hasattr(shape, "width"):
            yield round(shape.x), round(shape.width)


def _retail(digits: str) -> Symbol:
    from reportlab.graphics.barcode.eanbc import UPCA, Ean13BarcodeWidget  # noqa: PLC0415 - heavy

    upc = len(digits) == _RETAIL_DIGITS["upca"]
    kind = UPCA if upc else Ean13BarcodeWidget
    bars = list(_rectangles(kind(value=digits, barWidth=1, humanReadable=0, quiet=0).draw()))
    start = min(left for left, _ in bars)
    placed = tuple((left - start, width) for left, width in bars)
    return Symbol(
        bars=placed,
        modules=max(left + width for left, width in placed),
        quiet=(9, 9) if upc else (11, 7),
        least_mm=0.264,
        figures=digits,
    )


def _gs1_128(elements: str) -> Symbol:
    from reportlab.graphics.barcode.code128 import Code128  # noqa: PLC0415 - heavy

    plain = elements.replace("(", "").replace(")", "")
    code = Code128(FNC1 + plain, barWidth=1, quiet=0)
    code.validate()
    code.encode()
    code.decompose()
    bars, at = [], 0
    for char in code.decomposed:
        width = ord(char.upper()) - ord("A") + 1
        if char.isupper():
            bars.append((at, width))
        at += width
    return Symbol(bars=tuple(bars), modules=at, quiet=(10, 10), least_mm=0.25, figures=elements)


@lru_cache(maxsize=256)
def encode(kind: str, text: str) -> Symbol:
    """The symbol of kind `retail` (12 or 13 digits) or `gs1_128` (bracketed element string).

    Raises:
        BadInput: another kind, or digits of another length.
    """
    if kind == "gs1_128":
        return _gs1_128(text)
    if kind != "retail" or len(text) not in _RETAIL_DIGITS.values() or not text.isdigit():
        raise BadInput(f"barcode {kind} '{text}' cannot be drawn", hint="retail or gs1_128")
    return _retail(text)
