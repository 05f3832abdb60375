"""The append-only, double-entry ledger: the only room with a database.

Facts go in once by a Writer; a mistake is corrected by an entry that reverses it. Everything else,
a batch's state above all, is read from the facts.
"""

from soapstock.ledger.facts import (
    BatchFacts,
    DecisionRecord,
    EntryRecord,
    IngredientLot,
    PlaceRecord,
    PourFacts,
    ReceiveFacts,
    RecipeVersion,
    ShipmentRecord,
    Stamp,
    StockLine,
    TestRecord,
    UnmouldRecord,
    Use,
    WeighRecord,
)
from soapstock.ledger.store import Ledger, create, open_ledger

__all__ = [
    "BatchFacts", "DecisionRecord", "EntryRecord", "IngredientLot", "Ledger", "PlaceRecord",
    "PourFacts", "ReceiveFacts", "RecipeVersion", "ShipmentRecord", "Stamp", "StockLine",
    "TestRecord", "UnmouldRecord", "Use", "WeighRecord", "create", "open_ledger",
]  # fmt: skip
