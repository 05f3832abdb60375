"""One error tree for the whole program, its exit codes, and Problem, the record of a finding.

An error is one clear line: what is wrong, with the value and where it stands. The hint helps in
plain language; where something can be done with the program itself, `mend` names it as data, and
each face (the command line, a page) says it in its own words. Each face catches SoapstockError in
one place.
"""

from __future__ import annotations

import errno
from dataclasses import dataclass
from enum import IntEnum
from typing import ClassVar, Literal, Self


class ExitCode(IntEnum):
    """What the program tells the shell."""

    DONE = 0
    CRASH = 1
    BAD_INPUT = 2
    NOT_FOUND = 3
    REFUSED = 4
    BAD_DATA = 5
    DATABASE = 6


MOST_TOLD = 2000  # characters of a message; what was typed or read may be far longer


def one_line(text: str) -> str:
    """A text as one line that no terminal obeys: controls shown as escapes, the middle cut out."""
    if len(text) > MOST_TOLD:
        text = f"{text[: MOST_TOLD // 2]} ... {text[-MOST_TOLD // 4 :]}"
    if text.isprintable():
        return text
    shown = "".join(
        c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text
    )
    return one_line(shown)


MendKey = Literal[
    "add_recipe",
    "audit",
    "choose_target",
    "confirm",
    "count_store",
    "declare",
    "expect_sales",
    "find_shop",
    "give_lye",
    "give_note",
    "give_reason",
    "give_result",
    "give_weighed",
    "leave_result_out",
    "list_allergens",
    "list_backups",
    "list_batches",
    "list_entries",
    "list_lots",
    "list_orders",
    "map_columns",
    "migrate",
    "name_as_poured",
    "name_customer",
    "name_market",
    "name_person",
    "name_place",
    "name_raw_lots",
    "name_source",
    "opening_masses",
    "receive",
    "record_refused_pour",
    "record_titration",
    "release",
    "restore_newest",
    "restore_over",
    "say_what_was_wrong",
    "see_history",
    "set_price",
    "share",
    "set_web",
    "ship_short",
    "start_or_restore",
    "start_shop",
    "take_up",
    "undo",
    "unmould",
]


class Mend:
    """What would mend an error, as data.

    Attributes:
        key: what to do; every face has words for each key.
        values: what those words need, such as the lot or the entry, as text of one line.
    """

    __slots__ = ("key", "values")

    def __init__(self, key: MendKey, **values: object) -> None:
        self.key = key
        self.values = {name: one_line(str(value)) for name, value in values.items()}

    def __repr__(self) -> str:
        return f"Mend({self.key!r}, {self.values!r})"


class SoapstockError(Exception):
    """Base of every error we raise on purpose; its texts are made one line each.

    Args:
        message: what is wrong, with the offending value and where it stands.
        hint: help in plain language, naming no option, command or button; or empty.
        mend: what to do with the program, or None.
    """

    exit_code: ClassVar[ExitCode] = ExitCode.CRASH

    def __init__(self, message: str, *, hint: str = "", mend: Mend | None = None) -> None:
        self.message = one_line(message)
        self.hint = one_line(hint)
        self.mend = mend
        super().__init__(self.message)

    def within(self, where: str) -> Self:
        """The same error, with where in a file it stands before its message."""
        return type(self)(f"{where}: {self.message}", hint=self.hint, mend=self.mend)


class BadInput(SoapstockError):
    """A value the user typed, or a file the user wrote, is wrong."""

    exit_code = ExitCode.BAD_INPUT


class NotFound(SoapstockError):
    """No such lot, recipe, fat, face, sheet or file."""

    exit_code = ExitCode.NOT_FOUND


class RuleBroken(SoapstockError):
    """A rule of safety, law or stock refuses the action."""

    exit_code = ExitCode.REFUSED


class BadTable(SoapstockError):
    """A data file of the program (a table of law or of fats, a label design) is wrong."""

    exit_code = ExitCode.BAD_DATA


class StoreError(SoapstockError):
    """The database cannot be reached, is locked, damaged, or has the wrong schema."""

    exit_code = ExitCode.DATABASE


class AlreadyEntered(SoapstockError):
    """The same thing was sent under the same key before: it counts once, and that is no failure."""

    exit_code = ExitCode.DONE


_FULL = (errno.ENOSPC, errno.EDQUOT)
_FORBIDDEN = (errno.EACCES, errno.EPERM, errno.EROFS)


def cannot_write(path: object, error: OSError) -> BadInput:
    """The one line for a file that could not be written, with what mends it."""
    hint = "name a folder that exists"
    if error.errno in _FULL:
        hint = "free some space on that disk, or name another"
    elif error.errno in _FORBIDDEN:
        hint = "name a folder that you may write to"
    return BadInput(f"{path} cannot be written: {error.strerror or error}", hint=hint)


Severity = Literal["note", "warning", "error"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One finding of a review that collects all findings instead of stopping at the first.

    Attributes:
        where: what it was found on, such as a lot code, `recipe DRF` or `file.toml:12`.
        message: what is the matter and what to look at.
        rule: short name of the rule or check that found it.
        severity: `note`, `warning` or `error`.
    """

    where: str
    message: str
    rule: str
    severity: Severity = "warning"
