"""Guards on what comes into the ledger: text, whole numbers, figures and stamps."""

from __future__ import annotations

import math
import unicodedata
from datetime import date, datetime

from soapstock.codes.lot import LotCode
from soapstock.errors import BadInput
from soapstock.ledger.facts import Stamp

MAX_MG = 10**13  # ten tonnes
MAX_BARS = 10**7
MAX_CENTS = 10**12
SHORT, LONG = 200, 20_000


def text(what: str, value: object, *, limit: int = SHORT, required: bool = False) -> str:
    """The text without outer blanks.

    Raises:
        BadInput: not text, too long, empty where needed, or with characters no database keeps.
    """
    if not isinstance(value, str):
        raise BadInput(f"{what} must be text, not {type(value).__name__}")
    clean = value.strip()
    if required and not clean:
        raise BadInput(f"{what} is empty", hint=f"say {what}")
    if len(clean) > limit:
        raise BadInput(f"{what} has {len(clean)} characters; at most {limit} are kept")
    _refuse_strange(what, clean, several_lines=limit > SHORT)
    return clean


def _refuse_strange(what: str, value: str, *, several_lines: bool) -> None:
    allowed = "\n\r\t" if several_lines else ""
    for character in value:
        strange = unicodedata.category(character) in {"Cc", "Cs"}
        if strange and character not in allowed:
            raise BadInput(
                f"{what} has a character that cannot be kept (U+{ord(character):04X})",
                hint="type it again without control characters",
            )


def whole(what: str, value: object, *, low: int = 1, high: int = MAX_MG) -> int:
    """A whole number within bounds. Raises BadInput."""
    if isinstance(value, bool) or not isinstance(value, int):
        raise BadInput(f"{what} must be a whole number, not {value!r:.40}")
    if not low <= value <= high:
        raise BadInput(f"{what} is {value}; it must be {low} to {high}")
    return value


def figure(
    what: str, value: float | None, *, low: float = -100.0, high: float = 1e6
) -> float | None:
    """A finite number within bounds, or None. Raises BadInput."""
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise BadInput(f"{what} must be a number, not {value!r:.40}")
    if not low <= value <= high:
        raise BadInput(f"{what} is {value:g}; it must be {low:g} to {high:g}")
    return float(value)


def day(what: str, value: object) -> date:
    """A calendar date, not an instant. Raises BadInput."""
    if isinstance(value, datetime) or not isinstance(value, date):
        raise BadInput(f"{what} must be a date, not {value!r:.40}")
    return value


def one_of(what: str, value: str, allowed: tuple[str, ...]) -> str:
    """One of the allowed words. Raises BadInput."""
    if value not in allowed:
        raise BadInput(f"{what} '{value!s:.40}' is not known", hint="one of: " + ", ".join(allowed))
    return value


def lot_code(value: object) -> LotCode:
    """A lot code as it may be kept: no blanks, at most 40 characters. Raises BadInput."""
    code = text("lot code", value, limit=40, required=True)
    if any(character.isspace() for character in code):
        raise BadInput(f"lot code '{code}' has a blank in it")
    return LotCode(code)


def stamp(value: Stamp) -> Stamp:
    """The stamp, its texts cleaned. Raises BadInput for no name or an instant without zone."""
    day("the date", value.happened_on)
    if value.entered_at.utcoffset() is None:
        raise BadInput("entry time has no time zone")
    key = value.client_key
    return Stamp(
        happened_on=value.happened_on,
        entered_at=value.entered_at,
        by=text("who did it", value.by, required=True),
        note=text("note", value.note, limit=LONG),
        client_key=None if key is None else text("client key", key, required=True),
        client_said=text("what the client said", value.client_said, required=key is not None),
    )
