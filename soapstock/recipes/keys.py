"""Which ingredient a typed name means."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from soapstock.chemistry.fats import fat_called

_LYE = {
    "lye": "naoh",
    "caustic-soda": "naoh",
    "sodium-hydroxide": "naoh",
    "potassium-hydroxide": "koh",
    "caustic-potash": "koh",
}


def plain_key(typed: str) -> str:
    """A name as keys are written: `Beef tallow` is `beef-tallow`, which is the fat of that name."""
    key = "-".join(typed.lower().replace("_", " ").replace(",", " ").split())
    fat = fat_called(key)
    return _LYE.get(key, key if fat is None else fat.key)


def keys_meant(
    typed: str, known: Iterable[str], same: Callable[[str], str] = plain_key
) -> list[str]:
    """The key itself, else all of which it begins a word, else what goes by that name.

    Args:
        same: the one key behind all the names of an ingredient.

    >>> keys_meant("tallow", ["beef-tallow", "olive"])
    ['beef-tallow']
    >>> keys_meant("Olive oil", ["beef-tallow", "olive"])
    ['olive']
    """
    every = list(known)
    said = "-".join(typed.lower().replace("_", " ").split())
    if not said:
        return []
    wanted = _LYE.get(said, said)
    if wanted in every:
        return [wanted]
    begun = [key for key in every if key.startswith(wanted) or f"-{wanted}" in key]
    return begun or [key for key in every if same(key) == same(wanted)]
