"""The page's own words, all from one file, so that another language is another file."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from soapstock.errors import MendKey, SoapstockError

TEXT = Path(__file__).parent / "text"


@cache
def all_words(language: str = "en") -> dict[str, str]:
    """Every text by its key, such as `form.weigh.title`."""
    return dict(_flat(tomllib.loads((TEXT / f"{language}.toml").read_text(encoding="utf-8"))))


def _flat(table: dict[str, Any], before: str = "") -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    for key, value in table.items():
        if isinstance(value, dict):
            found += _flat(value, f"{before}{key}.")
        else:
            found.append((f"{before}{key}", str(value)))
    return found


def say(key: str, /, **values: object) -> str:
    """The text of a key with what is to be filled in; as it stands when nothing is."""
    text = all_words()[key]
    return text.format(**values) if values else text


def mend(key: MendKey, /, **values: str) -> str:
    """How to mend an error, in words of the page."""
    return say(f"mend.{key}", **values)


def help_of(error: SoapstockError) -> str:
    """How to mend an error: its plain help, then what to do here; empty when it has neither."""
    words = "" if error.mend is None else mend(error.mend.key, **error.mend.values)
    join = " " if error.hint.endswith("?") else "; "
    return join.join(part for part in (error.hint, words) if part)
