"""What the law asks of a notice of recall to customers."""

from __future__ import annotations

import re
from dataclasses import dataclass

from soapstock.tables import read_toml

TABLE = "law/recall_notice.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedDown:
    """Words that may lower what a reader makes of a hazard, and the rule against them."""

    phrase: str
    citation: str


def played_down(text: str) -> PlayedDown | None:
    """The first words of a notice that play its hazard down, or None.

    Source: Regulation (EU) 2023/988 Art. 36(2)(c); asked of every notice, wherever it is read.

    >>> played_down("A voluntary recall").phrase
    'voluntary'
    >>> played_down("The bars hold free lye and burn the skin.") is None
    True
    """
    table = read_toml(TABLE)["played_down"]
    words = " ".join(text.lower().split())
    for phrase in table["phrases"]:
        if re.search(rf"\b{re.escape(phrase)}\b", words):
            return PlayedDown(phrase=phrase, citation=table["citation"])
    return None


def headline() -> str:
    """The words that head a notice of recall (Regulation (EU) 2023/988 Art. 36(2)(a))."""
    return str(read_toml(TABLE)["headline"]["text"])
