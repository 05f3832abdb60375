"""Which ingredient a typed key means."""

from __future__ import annotations

from collections.abc import Iterable

_LYE = {"lye": "naoh", "sodium-hydroxide": "naoh", "potassium-hydroxide": "koh"}


def keys_meant(typed: str, known: Iterable[str]) -> list[str]:
    """The key itself, else all of which it begins a word, so that `tallow` finds `beef-tallow`.

    >>> keys_meant("tallow", ["beef-tallow", "olive"])
    ['beef-tallow']
    """
    wanted = typed.strip().lower().replace("_", "-").replace(" ", "-")
    wanted = _LYE.get(wanted, wanted)
    every = list(known)
    if wanted in every or not wanted:
        return [wanted] if wanted else []
    return [key for key in every if key.startswith(wanted) or f"-{wanted}" in key]
