"""Strict reading of one TOML table: every error names file, line if found, and field."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches
from typing import Any

from soapstock.errors import BadInput
from soapstock.tables.toml_text import toml_of

_HEADER = re.compile(r"^\s*(\[\[?)\s*([A-Za-z0-9_.-]+)\s*\]\]?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """The text being read, what to call it in an error, and the keys that stand at its top."""

    text: str
    where: str
    top_keys: Sequence[str] = ()

    def load(self) -> dict[str, Any]:
        """The TOML document; numbers with a point as Decimal.

        Raises:
            BadInput: not TOML; names file and line.
        """
        try:
            return toml_of(self.text, Decimal)
        except ValueError as err:
            line = re.search(r"at line (\d+)", str(err))
            place = f"{self.where}:{line[1]}" if line else self.where
            raise BadInput(
                f"{place}: not valid TOML: {str(err).split(' (at ')[0]}",
                hint='texts need quotes, each fat starts with [[fats]]: fat = "olive"',
            ) from err

    def line_of(self, path: str, key: str) -> int | None:
        """Line of a key inside a table such as `lye` or `fats[2]` (counted from 1), or None."""
        name, _, number = path.partition("[")
        wanted = int(number.rstrip("]")) if number else 1
        seen, inside = 0, path == ""
        for line_number, line in enumerate(self.text.splitlines(), 1):
            header = _HEADER.match(line)
            if header:
                seen += header[2] == name
                inside = bool(name) and header[2] == name and seen == wanted
            elif inside and re.match(rf"\s*\"?{re.escape(key)}\"?\s*=", line):
                return line_number
        return None


class Fields:
    """One table of the document; refuses unknown keys, and gives typed values.

    Args:
        source: text and name of the file.
        path: where the table stands, such as `` (top), `lye`, `fats[2]`.
        data: the table itself.
        known: keys it may have.

    Raises:
        BadInput: the table is not a table, or has an unknown key.
    """

    def __init__(self, source: Source, path: str, data: object, known: Sequence[str]) -> None:
        self.source, self.path = source, path
        if not isinstance(data, Mapping):
            raise BadInput(f"{source.where}: {path} is not a table", hint=f"write [{path}]")
        self.data: Mapping[str, Any] = data
        for key in self.data:
            if key not in known:
                near = get_close_matches(key, known, n=1, cutoff=0.5)
                hint = f"did you mean {near[0]}?" if near else f"known: {', '.join(known)}"
                if path and key in source.top_keys:
                    hint = "write it at the top of the file, before the first ["
                raise self.fail(key, "unknown field", hint)

    def fail(self, key: str, what: str, hint: str = "") -> BadInput:
        """The error for a field, to be raised."""
        line = self.source.line_of(self.path, key)
        place = self.source.where if line is None else f"{self.source.where}:{line}"
        field = f"{self.path}.{key}" if self.path and key else (self.path or key)
        return BadInput(f"{place}: {field}: {what}", hint=hint)

    def has(self, key: str) -> bool:
        """Whether the key is there."""
        return key in self.data

    def text(self, key: str, default: str | None = None) -> str:
        """A text; required when there is no default."""
        value = self._get(key, default, 'write it in quotes, such as "..."')
        if not isinstance(value, str):
            raise self.fail(key, f"'{value}' is not a text", f'write {key} = "..."')
        if default is None and not value.strip():
            raise self.fail(key, "is empty")
        return value.strip()

    def choice(self, key: str, allowed: Sequence[str], default: str | None = None) -> str:
        """One of the allowed words."""
        value = self.text(key, default)
        if value not in allowed:
            raise self.fail(key, f"'{value}' is not one of {', '.join(allowed)}")
        return value

    def number(self, key: str, low: float, high: float) -> float:
        """A number between low and high, both allowed."""
        value = self._get(key, None, "write a number")
        if isinstance(value, bool) or not isinstance(value, int | Decimal):
            raise self.fail(key, f"'{value}' is not a number", f"write {key} = 5, without quotes")
        if not Decimal(value).is_finite() or not low <= value <= high:
            raise self.fail(key, f"{value} is not between {low:g} and {high:g}")
        return float(value)

    def whole(self, key: str, low: int, high: int) -> int:
        """A whole number between low and high."""
        value = self.number(key, low, high)
        if value != int(value):
            raise self.fail(key, f"{value:g} is not a whole number")
        return int(value)

    def flag(self, key: str) -> bool:
        """True or false; false when absent."""
        value = self.data.get(key, False)
        if not isinstance(value, bool):
            raise self.fail(key, f"'{value}' is not true or false")
        return value

    def measure(self, key: str, parse: Callable[[str, str], Decimal]) -> Decimal:
        """A quantity with its unit in quotes, read by a parser of soapstock.units; above zero."""
        value = self._get(key, None, 'write number and unit in quotes, such as "917 g"')
        if not isinstance(value, str):
            hint = f'write number and unit in quotes: {key} = "{value} g"'
            raise self.fail(key, f"'{value}' has no unit", hint)
        try:
            quantity = parse(value, key)
        except BadInput as err:
            raise self.fail(key, err.message, err.hint) from err
        if quantity <= 0:
            raise self.fail(key, f"'{value}' is not above zero")
        return quantity

    def _get(self, key: str, default: object, hint: str) -> Any:
        if key in self.data:
            return self.data[key]
        if default is None:
            raise self.fail(key, "is missing", hint)
        return default
