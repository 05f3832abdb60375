"""An ingredient lot on hold: nothing takes from it, and what was made of it is told at once."""

from __future__ import annotations

from decimal import Decimal

import pytest

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk
from soapstock.enter.decide import decide
from soapstock.enter.pour import choose_lots
from soapstock.errors import RuleBroken
from soapstock.ledger.facts import IngredientLot
from soapstock.recipes.weighing import Weighed
from soapstock.views.history import IngredientHistory, IngredientRow, history_row, scan
from soapstock.views.stock import ingredient_lots


def used_lot(desk: Desk) -> IngredientLot:
    """A lot of the demo that is in batches and in store."""
    with desk.ledger.read() as reader:
        lots = reader.ingredient_lots()
    for lot in lots:
        found = scan(desk, lot.lot_code)
        assert isinstance(found, IngredientHistory)
        if lot.left_mg > 0 and any(b.shipments for b in found.batches):
            return lot
    raise AssertionError("the demo has no lot that is in store and with customers")


def chosen(desk: Desk, weighed: Weighed) -> list[LotCode]:
    """The lots a pour of today would take."""
    with desk.ledger.read() as reader:
        lots = reader.ingredient_lots()
    return [lot.lot_code for lot, _ in choose_lots(desk, lots, weighed, desk.today)]


def test_nothing_takes_from_a_lot_on_hold_until_it_is_let_go(desk: Desk) -> None:
    """Neither by name nor by itself; the list says so."""
    lot = used_lot(desk)
    named = Weighed(ingredient=lot.ingredient, mass_g=Decimal(1), lot=lot.lot_code)
    assert chosen(desk, named) == [lot.lot_code]
    decide(desk, lot.lot_code, "hold", "smells rancid")
    with pytest.raises(RuleBroken, match="on hold: smells rancid"):
        chosen(desk, named)
    unnamed = Weighed(ingredient=lot.ingredient, mass_g=Decimal(1))
    with desk.ledger.read() as reader:
        others = [x for x in reader.ingredient_lots(lot.ingredient) if not x.hold_reason]
    if any(x.left_mg > 0 for x in others):
        assert lot.lot_code not in chosen(desk, unnamed)
    else:
        with pytest.raises(RuleBroken, match="on hold"):
            chosen(desk, unnamed)
    rows = {r.lot: r for r in ingredient_lots(desk, None, everything=False)}
    assert rows[lot.lot_code].hold == "smells rancid"
    kept = history_row(scan(desk, lot.lot_code))
    assert isinstance(kept, IngredientRow)
    assert kept.hold == "smells rancid"
    decide(desk, lot.lot_code, "release", "it was the lid")
    assert chosen(desk, named) == [lot.lot_code]


def test_the_writer_itself_refuses_a_lot_on_hold(desk: Desk) -> None:
    """A pour planned before the hold cannot slip in after it."""
    with desk.ledger.read() as reader:
        batch = reader.batches()[-1]
    used = next(use for use in batch.pour.uses if batch.lot_of(use) is not None)
    assert used.lot_code is not None
    decide(desk, used.lot_code, "hold", "recalled by its supplier")
    with desk.ledger.write() as writer, pytest.raises(RuleBroken, match="on hold"):
        writer._uses(desk.stamp(), (used,), 1, what="pour")


def test_a_hold_lists_at_once_what_was_made_and_who_has_it(desk: Desk) -> None:
    """Every batch of the lot is named, and every customer of each."""
    lot = used_lot(desk)
    found = scan(desk, lot.lot_code)
    assert isinstance(found, IngredientHistory)
    told = " ".join(decide(desk, lot.lot_code, "hold", "recalled").notes)
    for batch in found.batches:
        assert batch.lot_code.shown in told
        assert all(s.customer in told for s in batch.shipments)


def test_an_ingredient_lot_is_not_rejected_held_twice_or_let_go_unheld(desk: Desk) -> None:
    """Each is one clear refusal, and nothing is written."""
    lot = used_lot(desk).lot_code
    with pytest.raises(RuleBroken, match="not on hold"):
        decide(desk, lot, "release", "fine")
    decide(desk, lot, "hold", "rancid")
    with pytest.raises(RuleBroken, match="on hold already"):
        decide(desk, lot, "hold", "rancid")
