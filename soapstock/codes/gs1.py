"""GS1: GTIN check digits, element strings, and Digital Link addresses that carry a lot code.

Check digit: weights 3, 1, 3, 1 ... from the right over the digits before it; the check digit
brings the sum to a multiple of ten (GS1 General Specifications, check digit calculation). A GTIN is
held in 14 digits, zero-filled at left. A Digital Link is `https://host/01/GTIN/10/LOT` (GS1 Digital
Link URI Syntax 1.2, 2021). Application identifiers come from
tables/gs1/application_identifiers.toml.

>>> check_digit("629104150021")
'3'
>>> digital_link(None, "6291041500213", "DRF26329A1")
'https://id.gs1.org/01/06291041500213/10/DRF26329A1'
"""

from __future__ import annotations

import re
from datetime import date
from typing import Any
from urllib.parse import quote, urlsplit

from soapstock.errors import BadInput
from soapstock.tables import read_toml

TABLE = "gs1/application_identifiers.toml"
GTIN_LENGTHS = (8, 12, 13, 14)
LOT_LENGTH = 20  # AI 10 is X..20
SEPARATOR = "\x1d"  # the ASCII group separator that a scanner sends for FNC1


def _table() -> dict[str, Any]:
    return read_toml(TABLE)


def check_digit(digits: str) -> str:
    """The check digit to write after the digits of a GTIN, GLN or SSCC. Raises BadInput."""
    if not re.fullmatch(r"[0-9]+", digits):
        raise BadInput(f"'{digits}' is not all digits", hint="give the number without check digit")
    total = sum(int(d) * (3 if place % 2 == 0 else 1) for place, d in enumerate(reversed(digits)))
    return str(-total % 10)


def validate_gtin(text: str) -> str:
    """The GTIN in 14 digits.

    Args:
        text: 8, 12, 13 or 14 digits with the check digit; spaces and hyphens are dropped.

    Raises:
        BadInput: other characters, another length, or a wrong check digit.
    """
    digits = re.sub(r"[\s-]", "", text[:64])
    if not re.fullmatch(r"[0-9]+", digits) or len(digits) not in GTIN_LENGTHS:
        raise BadInput(
            f"GTIN '{text[:64]}' is not 8, 12, 13 or 14 digits",
            hint="copy the digits under the bar code, all of them",
        )
    if check_digit(digits[:-1]) != digits[-1]:
        raise BadInput(
            f"GTIN '{digits}' has a wrong check digit '{digits[-1]}'",
            hint="one digit is mistyped, or two are swapped",
        )
    return digits.zfill(14)


def validate_lot_value(lot: str) -> str:
    """The lot as application identifier 10 may carry it: 1 to 20 characters of set 82.

    Raises:
        BadInput: empty, too long, or a character outside the set (such as a space).
    """
    allowed = _table()["character_set_82"]["characters"]
    wrong = [character for character in lot if character not in allowed]
    if wrong:
        raise BadInput(f"lot '{lot}' holds {wrong[0]!r}, which GS1 codes cannot carry")
    if not 1 <= len(lot) <= LOT_LENGTH:
        raise BadInput(f"lot '{lot}' has {len(lot)} characters; GS1 codes carry 1 to {LOT_LENGTH}")
    return lot


def element_string(
    gtin: str, lot: str, best_before: date | None = None, *, bracketed: bool = True
) -> str:
    """GTIN, best-before date and lot as a GS1 element string.

    The lot comes last, so that no separator is needed.

    Args:
        gtin: any valid GTIN.
        lot: the lot code.
        best_before: written as AI 15, or left out.
        bracketed: identifiers in brackets, as people read them; else as a scanner sends them,
            without symbology prefix.

    Raises:
        BadInput: GTIN or lot not valid.
    """
    parts = [("01", validate_gtin(gtin))]
    if best_before is not None:
        parts.append(("15", f"{best_before:%y%m%d}"))
    parts.append(("10", validate_lot_value(lot)))
    return "".join(f"({ai}){value}" if bracketed else ai + value for ai, value in parts)


def web_root(web: str) -> str:
    """The shop's web address as a link root, `https://` added where missing, without a last slash.

    Raises:
        BadInput: not a plain http or https address.
    """
    text = web.strip()
    if "://" not in text:
        text = f"https://{text}"
    try:
        parts = urlsplit(text)
    except ValueError:
        parts = urlsplit("")
    plain = parts.scheme in ("http", "https") and not (parts.query or parts.fragment)
    if not plain or not re.fullmatch(r"[A-Za-z0-9.-]+(:[0-9]+)?", parts.netloc):
        raise BadInput(f"web address '{web}' is not understood", hint="for example soap.example")
    return text.rstrip("/")


def digital_link(web: str | None, gtin: str, lot: str) -> str:
    """The GS1 Digital Link of a lot, on the shop's own host or, without one, on GS1's.

    Raises:
        BadInput: web address, GTIN or lot not valid.
    """
    root = web_root(web) if web else str(_table()["digital_link"]["canonical_host"])
    return f"{root}/01/{validate_gtin(gtin)}/10/{quote(validate_lot_value(lot), safe='')}"


def lot_link(web: str, lot: str) -> str:
    """A plain link to a lot, `https://host/lot/CODE`, for a shop with a site but no GTIN.

    Raises:
        BadInput: web address not understood.
    """
    return f"{web_root(web)}/lot/{quote(lot, safe='')}"


def parse_element_string(text: str) -> dict[str, str]:
    """Identifier and value of each part of a GS1 element string, bracketed or raw.

    Args:
        text: `(01)...(10)...`, or `01...10...` with group separators where needed; a symbology
            prefix such as `]d2` must be taken off before.

    Raises:
        BadInput: an identifier we do not know, or a value cut short.
    """
    if text.startswith("("):
        pairs = re.findall(r"\(([0-9]{2,4})\)([^(]+)", text)
        if "".join(f"({ai}){value}" for ai, value in pairs) != text:
            raise BadInput(f"GS1 text '{text[:60]}' is not understood", hint="like (01)...(10)...")
        return dict(pairs)
    return _parse_raw(text)


def _parse_raw(text: str) -> dict[str, str]:
    fixed: dict[str, int] = _table()["fixed"]
    variable: dict[str, int] = _table()["variable"]
    found: dict[str, str] = {}
    rest = text.lstrip(SEPARATOR)
    while rest:
        ai = next((rest[:n] for n in (3, 2) if rest[:n] in fixed or rest[:n] in variable), None)
        if ai is None:
            raise BadInput(
                f"GS1 text has an identifier we do not know at '{rest[:12]}'",
                hint="type the lot code from the label instead",
            )
        rest = rest[len(ai) :]
        value = rest[: fixed[ai]] if ai in fixed else rest.split(SEPARATOR, 1)[0]
        if not value or (ai in fixed and len(value) < fixed[ai]):
            raise BadInput(f"GS1 text is cut short after ({ai})", hint="scan it again")
        rest = rest[len(value) :].lstrip(SEPARATOR)
        found[ai] = value
    return found
