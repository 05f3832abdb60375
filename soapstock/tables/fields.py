"""The strict reader of TOML: an error names the file, the line where it is found, and the field.

A Source is one file; Fields is one of its tables, which refuses keys that it does not know. A file
of the maker raises BadInput; a data file of the program, or a label design, raises BadTable.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from difflib import get_close_matches
from typing import Any, TypeVar

from soapstock.errors import BadInput, BadTable
from soapstock.tables.toml_text import toml_of

Word = TypeVar("Word", bound=str)
# Unicode categories: control, format (zero width, soft hyphen), surrogate, private, unassigned,
# line and paragraph ends.
_LONGEST_LINE = 160  # of a list that is printed
_UNPRINTED = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
_HEADER = re.compile(r"^\s*(\[\[?)\s*([A-Za-z0-9_.-]+)\s*\]\]?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One file that is read.

    Attributes:
        text: its text; empty when its content was parsed elsewhere, and then no line is named.
        where: what to call it in an error.
        top_keys: keys that stand at its top, for the hint about one that stands too low.
        error: what is raised.
        hint: how to mend text that is not TOML.
    """

    text: str
    where: str
    top_keys: Sequence[str] = ()
    error: type[BadInput] | type[BadTable] = BadInput
    hint: str = "mend the file at that line; texts need quotes"

    def load(self) -> dict[str, Any]:
        """The TOML document; numbers with a point as Decimal.

        Raises:
            error: not TOML; names file and line.
        """
        try:
            return toml_of(self.text, Decimal)
        except ValueError as err:
            line = re.search(r"at line (\d+)", str(err))
            place = f"{self.where}:{line[1]}" if line else self.where
            what = str(err).split(" (at ")[0]
            raise self.error(f"{place}: not valid TOML: {what}", hint=self.hint) from err

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
        BadInput: the table is not a table, or has an unknown key; or BadTable, as `source` says.
    """

    def __init__(self, source: Source, path: str, data: object, known: Sequence[str]) -> None:
        self.source, self.path = source, path
        if not isinstance(data, Mapping):
            bracketed = f"[[{path.split('[', maxsplit=1)[0]}]]" if "[" in path else f"[{path}]"
            raise source.error(f"{source.where}: {path} is not a table", hint=f"write {bracketed}")
        self.data: Mapping[str, Any] = data
        for key in self.data:
            if key not in known:
                near = get_close_matches(key, known, n=1, cutoff=0.5)
                hint = f"did you mean {near[0]}?" if near else f"known: {', '.join(known)}"
                if path and key in source.top_keys:
                    hint = "write it at the top of the file, before the first ["
                raise self.fail(key, "unknown field", hint)

    def fail(self, key: str, what: str, hint: str = "") -> BadInput | BadTable:
        """The error for a field, to be raised."""
        line = self.source.line_of(self.path, key)
        place = self.source.where if line is None else f"{self.source.where}:{line}"
        field = f"{self.path}.{key}" if self.path and key else (self.path or key)
        said = f"{place}: {field}: {what}" if field else f"{place}: {what}"
        return self.source.error(said, hint=hint)

    def has(self, key: str) -> bool:
        """Whether the key is there."""
        return key in self.data

    def table(self, key: str, known: Sequence[str]) -> Fields:
        """The table of that name inside this one; empty when it is not there."""
        path = f"{self.path}.{key}" if self.path else key
        return Fields(self.source, path, self.data.get(key, {}), known)

    def rows(self, key: str, known: Sequence[str]) -> list[Fields]:
        """The repeated tables ([[key]]) of that name; none when they are not there."""
        rows = self.data.get(key, [])
        if not isinstance(rows, list):
            raise self.fail(key, "is not a list of tables", f"start each with [[{key}]]")
        return [Fields(self.source, f"{key}[{n}]", row, known) for n, row in enumerate(rows, 1)]

    def tables(self, key: str, known: Sequence[str]) -> dict[str, Fields]:
        """The tables ([key.name]) below that one, by the name that the file gives each."""
        names = list(self.data[key]) if isinstance(self.data.get(key), Mapping) else []
        below = self.table(key, names)
        return {name: below.table(name, known) for name in names}

    def as_written(self, key: str, default: str | None = None) -> str:
        """A text with the spaces around it, which may be empty; required without a default."""
        value = self._get(key, default, 'write it in quotes, such as "..."')
        if not isinstance(value, str):
            raise self.fail(key, f"'{value}' is not a text", f'write {key} = "..."')
        return value

    def text(self, key: str, default: str | None = None) -> str:
        """A text without spaces around it; required when there is no default."""
        value = self.as_written(key, default).strip()
        if default is None and not value:
            raise self.fail(key, "is empty")
        return value

    def printed(self, key: str, default: str | None = None) -> str:
        """A text that is printed as one line: no control, invisible or unassigned character."""
        value = self.text(key, default)
        for at, char in enumerate(value):
            if unicodedata.category(char) in _UNPRINTED:
                name = unicodedata.name(char, "a control character")
                raise self.fail(
                    key,
                    f"holds U+{ord(char):04X} ({name}) after '{value[:at][-20:]}'",
                    "it cannot be printed, and is often brought in by copying: type the words",
                )
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts; none when it is not there."""
        value = self.data.get(key, [])
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            raise self.fail(key, "is not a list of texts", f'write {key} = ["...", "..."]')
        return tuple(value)

    def lines(self, key: str, most: int) -> tuple[str, ...]:
        """A list of so many printable lines at most, none of them empty; none when not there."""
        found = tuple(line.strip() for line in self.texts(key))
        wrong = next((line for line in found if not line or not line.isprintable()), None)
        if wrong is not None:
            raise self.fail(key, f"'{wrong[:40]}' is no line of text")
        if len(found) > most or any(len(line) > _LONGEST_LINE for line in found):
            raise self.fail(key, "is too long", f"{most} lines of {_LONGEST_LINE} letters at most")
        return found

    def text_map(self, key: str) -> dict[str, str]:
        """A table whose names are the file's own and whose values are texts."""
        value = self.data.get(key, {})
        if not isinstance(value, Mapping) or not all(isinstance(v, str) for v in value.values()):
            raise self.fail(key, "is not a table of texts", f'below [{key}] write name = "..."')
        return dict(value)

    def day(self, key: str) -> date:
        """A day."""
        value = self._get(key, None, "write a day, such as 2027-01-31, without quotes")
        if type(value) is not date:
            raise self.fail(key, f"'{value}' is not a day", "write it as 2027-01-31, no quotes")
        return value

    def choice(self, key: str, allowed: Sequence[Word], default: Word | None = None) -> Word:
        """One of the allowed words."""
        value = self.text(key, default)
        for word in allowed:
            if word == value:
                return word
        raise self.fail(key, f"'{value}' is not one of {', '.join(allowed)}")

    def exact(self, key: str, low: float, high: float) -> Decimal:
        """A number as it was written, between low and high, both allowed."""
        return self._checked(key, self._get(key, None, "write a number"), low, high)

    def pair(self, key: str, low: float, high: float) -> tuple[float, float]:
        """Two numbers, each between low and high, both allowed."""
        value = self._get(key, None, "write two numbers")
        if not isinstance(value, list) or len(value) != 2:  # noqa: PLR2004
            raise self.fail(key, f"'{value}' is not two numbers", f"such as {key} = [1.5, -0.5]")
        one, other = (float(self._checked(key, each, low, high)) for each in value)
        return one, other

    def _checked(self, key: str, value: object, low: float, high: float) -> Decimal:
        if isinstance(value, bool) or not isinstance(value, int | Decimal):
            raise self.fail(key, f"'{value}' is not a number", f"write {key} = 5, without quotes")
        if not Decimal(value).is_finite() or not low <= value <= high:
            raise self.fail(key, f"{value} is not between {low:g} and {high:g}")
        return Decimal(value)

    def number(self, key: str, low: float, high: float) -> float:
        """A number between low and high, both allowed."""
        return float(self.exact(key, low, high))

    def whole(self, key: str, low: int, high: int) -> int:
        """A whole number between low and high."""
        value = self.exact(key, low, high)
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
        value = self._get(key, None, 'write number and unit in quotes, such as "900 g"')
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
