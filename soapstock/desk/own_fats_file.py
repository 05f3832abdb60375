"""The shop's own fats, read from its folder."""

from __future__ import annotations

from pathlib import Path

from soapstock.chemistry.fats import Fat, use_own_fats
from soapstock.exchange.text_file import MEGABYTE, read_text_file
from soapstock.recipes.own_fats import read_own_fats

OWN_FILE = "fats.toml"


def load_own_fats(folder: Path | None) -> tuple[Fat, ...]:
    """The fats of a shop's `fats.toml`, if it has one, made known.

    Raises:
        BadInput: the file is wrong; names line and field.
    """
    path = None if folder is None else folder / OWN_FILE
    fats: tuple[Fat, ...] = ()
    if path is not None and path.is_file():
        text = read_text_file(path, "fats", most_bytes=MEGABYTE)
        fats = read_own_fats(text, str(path))
    use_own_fats(fats)
    return fats
