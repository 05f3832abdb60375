"""TOML that people wrote, read so that no text, however absurd, takes long or overflows."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from typing import Any

MOST_IN_A_LINE = 8000  # characters; a dotted key's cost grows with the square of its length


def toml_of(text: str, parse_float: Callable[[str], Any] = float) -> dict[str, Any]:
    """The content of a TOML text.

    Raises:
        ValueError: not TOML, or absurdly long or deep; says where.
    """
    for number, line in enumerate(text.splitlines(), 1):
        if len(line) > MOST_IN_A_LINE:
            raise ValueError(
                f"the line has {len(line)} characters, over {MOST_IN_A_LINE} (at line {number})"
            )
    try:
        read = tomllib.loads(text, parse_float=parse_float)
    except RecursionError:
        raise ValueError("brackets inside brackets, too deep to read") from None
    if "\\" in text and _has_nul(read):
        raise ValueError("a text holds the character \\u0000, which no name or file can")
    return read


def _has_nul(value: Any) -> bool:
    if isinstance(value, dict):
        return any(_has_nul(inner) for pair in value.items() for inner in pair)
    if isinstance(value, list):
        return any(map(_has_nul, value))
    return isinstance(value, str) and "\0" in value
