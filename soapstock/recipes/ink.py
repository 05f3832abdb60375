"""The one ink of a variety, its tint and its shades, and how far it stands out (contrast).

Relative luminance and contrast ratio: W3C Web Content Accessibility Guidelines 2.2, definitions of
both; the least contrast is that of success criterion 1.4.6 (in tables/design/hand.toml).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from soapstock.errors import BadInput
from soapstock.tables import read_toml

WHITE = "#ffffff"
_LINEAR_UP_TO = 0.04045


def _channels(colour: str) -> tuple[int, ...]:
    return tuple(int(colour[at : at + 2], 16) for at in (1, 3, 5))


def luminance(colour: str) -> float:
    """Relative luminance of `#rrggbb`, 0 (black) to 1 (white).

    >>> luminance("#ffffff"), luminance("#000000")
    (1.0, 0.0)
    """
    linear = []
    for channel in _channels(colour):
        share = channel / 255
        linear.append(share / 12.92 if share <= _LINEAR_UP_TO else ((share + 0.055) / 1.055) ** 2.4)
    red, green, blue = linear
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21, whichever is the lighter.

    >>> contrast("#000000", "#ffffff")
    21.0
    """
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def mixed(colour: str, percent: float) -> str:
    """So much of the colour on white, as `#rrggbb`.

    >>> mixed("#000000", 20)
    '#cccccc'
    """
    parts = [255 - (255 - channel) * percent / 100 for channel in _channels(colour)]
    return "#" + "".join(f"{round(part):02x}" for part in parts)


def _table() -> dict[str, Any]:
    return dict(read_toml("design/hand.toml")["ink"])


@dataclass(frozen=True, slots=True)
class Ink:
    """An ink as `#rrggbb`."""

    colour: str

    @property
    def tint(self) -> str:
        """Its light ground for text."""
        return mixed(self.colour, float(_table()["tint_percent"]))

    @property
    def shades(self) -> tuple[str, ...]:
        """The ink and lighter ones of it, for pieces side by side."""
        return tuple(mixed(self.colour, float(p)) for p in _table()["shade_percents"])


def parse_ink(text: str) -> Ink:
    """The ink of `#rrggbb`.

    Raises:
        BadInput: another form, or too light for text on its own tint; says the contrast it has.
    """
    colour = text.strip().lower()
    if not re.fullmatch(r"#[0-9a-f]{6}", colour):
        raise BadInput(f"ink '{text}' is not a colour", hint='write # and six figures: "#2f4a50"')
    ink, least = Ink(colour), float(_table()["least_contrast"])
    found = contrast(colour, ink.tint)
    if found < least:
        raise BadInput(
            f"ink {colour} stands out from its own tint by {found:.1f} to 1; text needs"
            f" {least:g} to 1",
            hint="take a darker one",
        )
    return ink
