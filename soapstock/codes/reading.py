"""Reading a lot code out of whatever a person types or a scanner sends, and what a QR code holds.

Accepted: the lot code in either case with or without hyphens and spaces; a GS1 Digital Link; a
plain link ending in `/lot/CODE`; a GS1 element string, bracketed or raw. Stray line ends and a
symbology prefix (`]d2`, `]C1`, `]Q3` ...) are dropped. The check character is always verified, so a
loose reader cannot let a wrong code through.

>>> read_code("drf 26329 a1")
'DRF26329A1'
>>> read_code("https://soap.example/01/06291041500213/10/DRF26329A1?15=280525")
'DRF26329A1'
"""

from __future__ import annotations

import re
from itertools import pairwise
from urllib.parse import unquote, urlsplit

from soapstock.codes import gs1, lot
from soapstock.errors import BadInput

MAX_CODE = 2000  # longer than any link we print; a picture or a file was pasted
_PREFIX = re.compile(r"^\][A-Za-z][0-9A-Za-z]")
_RAW_GS1 = re.compile(r"^01[0-9]{14}")
_GS1_PREFIXES = ("]d2", "]C1", "]Q3", "]e0")
_STRAY = "\r\n\t \x00\x02\x03\x04\ufeff"


def qr_text(lot_code: str, web: str | None, gtin: str | None) -> str:
    """What the QR code of a lot holds.

    A GS1 Digital Link when there is a GTIN (on the shop's host if it has one), a plain link when
    there is only a web address, else the bare lot code.

    Raises:
        BadInput: web address or GTIN not valid.
    """
    if gtin:
        return gs1.digital_link(web, gtin, lot_code)
    return gs1.lot_link(web, lot_code) if web else lot_code


def read_code(text: str) -> lot.LotCode:
    """The compact lot code in a typed or scanned text.

    Raises:
        BadInput: nothing, no lot code in it, or a wrong check character.
    """
    code = text.strip(_STRAY)
    if not code:
        raise BadInput("no code given", hint="scan the label or type its lot code")
    if len(code) > MAX_CODE:
        raise BadInput("that is far too long for a code", hint="scan one label at a time")
    marked = code.startswith((*_GS1_PREFIXES, gs1.SEPARATOR))
    code = _PREFIX.sub("", code)
    if "/" in code:
        return lot.validate(_from_link(code))
    if marked or code.startswith("(") or _RAW_GS1.match(code):
        return lot.validate(_from_element_string(code))
    return lot.validate(code)


def _from_link(code: str) -> str:
    """The value after `/10/` of a Digital Link, or after `/lot/` of a plain link."""
    try:
        path = urlsplit(code if "://" in code else f"https://{code}").path
    except ValueError:
        path = ""
    parts = [unquote(part) for part in path.split("/")]
    pairs = dict(pairwise(parts))
    found = pairs.get("10") if "01" in pairs else pairs.get("lot")
    if not found:
        raise BadInput(
            f"the link '{code[:60]}' holds no lot code",
            hint="scan the code of a bar, or type the lot code from its label",
        )
    return found


def _from_element_string(code: str) -> str:
    found = gs1.parse_element_string(code)
    if "10" not in found:
        raise BadInput(
            f"the code '{code[:40]}' names a product but no lot",
            hint="type the lot code from the label",
        )
    return found["10"]
