"""The words of what people do between a pour and a sale; each stands here once."""

from __future__ import annotations

from typing import Literal

# A named person's decision on a batch (ISO 22716 asks for one).
Decision = Literal["release", "hold", "reject"]
# How free alkali is looked for; a pH alone only catches gross error.
Method = Literal["tongue", "phenolphthalein", "titration", "ph"]
