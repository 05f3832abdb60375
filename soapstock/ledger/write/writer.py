"""The Writer: every fact the ledger takes, inside one transaction.

Each method checks what it is given, posts, and returns the new entry's id; it raises BadInput for
a value that cannot be, NotFound for a lot, recipe, place or entry that is not there, and RuleBroken
for what the rules of stock refuse. Nothing is saved unless the whole `with` succeeds.
"""

from __future__ import annotations

from soapstock.ledger.write.making import BatchWriter
from soapstock.ledger.write.money import MoneyWriter
from soapstock.ledger.write.photos import PhotoWriter

__all__ = ["Writer"]


class Writer(BatchWriter, MoneyWriter, PhotoWriter):
    """Everything that can be entered."""
