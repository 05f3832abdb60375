"""The history of a lot, both ways."""

from __future__ import annotations

from datetime import date

from soapstock.desk.desk import Desk
from soapstock.views import history, stock
from tests.desks import on

READY = "DRF-26241-AZ"


def batch_row(desk: Desk, code: str = READY) -> history.BatchHistoryRow:
    """The history of a batch as a record."""
    found = history.history_row(history.scan(desk, code))
    assert isinstance(found, history.BatchHistoryRow)
    return found


def test_a_batch_names_its_lots_and_customers(desk: Desk) -> None:
    """From a bar to the animal its tallow came from, and to who received it."""
    record = batch_row(desk)
    tallow = next(x for x in record.ingredients if x.ingredient == "beef-tallow")
    assert (tallow.lot or "").startswith("BEE")
    assert {s.customer for s in record.shipments} == {
        "A. Marsh (invented)",
        "Corner Grocer (invented)",
    }


def test_an_ingredient_lot_names_its_batches_and_customers(desk: Desk) -> None:
    """From a lot of fat to every batch and customer it reached."""
    used = batch_row(desk).ingredients
    lot = next(x.lot for x in used if x.ingredient == "beef-tallow" and x.lot)
    back = history.history_row(history.scan(desk, lot))
    assert isinstance(back, history.IngredientRow)
    assert READY in {code.shown for code in back.used_in}
    assert "Corner Grocer (invented)" in back.shipped_to


def test_links_and_plain_codes_are_the_same_lot(desk: Desk) -> None:
    """A QR link, lower case and missing hyphens all find the lot."""
    forms = ("drf26241az", "https://heronwick.example/lot/DRF26241AZ", " DRF 26241 AZ\r\n")
    for text in forms:
        assert batch_row(desk, text).batch.lot.shown == READY


def test_stock_shows_real_places_only(desk: Desk) -> None:
    """Customers, waste and the pot are no stock."""
    places = {row.place for row in stock.stock(desk)}
    assert places <= {"rack", "shelf", "store", "retained"}


def test_used_up_lots_are_shown_only_when_asked(desk: Desk) -> None:
    """The list of all lots adds what is used up, and loses nothing."""
    left = {row.lot for row in stock.ingredient_lots(desk, None, everything=False)}
    everything = {row.lot for row in stock.ingredient_lots(desk, None, everything=True)}
    assert left <= everything


def test_lots_on_an_earlier_day_hold_what_was_left_then(desk: Desk) -> None:
    """Later receipts are not there yet, and later pours took nothing yet."""
    now = {row.lot: row.left_g for row in stock.ingredient_lots(desk, None, everything=True)}
    earlier = on(desk, "2026-09-10")
    then = {row.lot: row.left_g for row in stock.ingredient_lots(earlier, None, everything=True)}
    assert then.keys() < now.keys()
    assert all(then[lot] >= now[lot] for lot in then)
    assert any(then[lot] > now[lot] for lot in then)


def test_stock_on_an_earlier_day_has_no_later_batch(desk: Desk) -> None:
    """Bars poured after that day lie nowhere."""
    rows = stock.stock(on(desk, "2026-09-10"))
    days = {row.lot.day for row in rows}
    assert max(days) <= date(2026, 9, 10)


def test_the_room_of_a_weigh_in_stays_with_it(desk: Desk) -> None:
    """Temperature and humidity as entered with the first weigh-in of the demo's first pour."""
    first = batch_row(desk).weigh_ins[0]
    assert (first.room_c, first.room_rh) == (19, 58)
