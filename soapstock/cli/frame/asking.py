"""Questions with one line of answer each, from a person at a screen or from a pipe of lines."""

from __future__ import annotations

import re
import sys

import typer

from soapstock.cli.frame.mends import help_of
from soapstock.cli.frame.output import harmless, say
from soapstock.errors import BadInput, SoapstockError

_MOST = 10_000  # characters of an answer


def somebody_answers() -> bool:
    """Whether a person sits there, who can be asked again; a pipe's next line answers the next."""
    return sys.stdin.isatty()


def answer(question: str) -> str | None:
    """What was typed, empty for Enter alone; None when a pipe has no more lines.

    Raises:
        BadInput: a pipe's line has no end in sight.
    """
    if somebody_answers():
        return str(typer.prompt(harmless(question), default="", show_default=False)).strip()
    line = sys.stdin.readline(_MOST + 1)
    if len(line) > _MOST:
        raise BadInput(
            f"a line has over {_MOST:,} characters", hint="what was read before it stands"
        )
    return line.strip() if line else None


def tell_again(err: SoapstockError) -> None:
    """Say why an answer is not taken, before it is asked again."""
    mend = help_of(err)
    say(f"    {err.message}" + (f" ({mend})" if mend else ""))


def in_grams(mass: str) -> str:
    """A mass as typed, with its unit: a bare figure is grams."""
    return f"{mass}g" if re.fullmatch(r"[0-9.\s]+", mass) else mass
