"""Another net weight is declared for a batch that came out lighter than its recipe promises."""

from __future__ import annotations

from decimal import Decimal

import pytest

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk
from soapstock.enter.decide import decide
from soapstock.enter.declare import declare, highest_g
from soapstock.enter.move import ship
from soapstock.enter.undo import undo
from soapstock.errors import BadInput, RuleBroken
from soapstock.views.batch import view, views
from soapstock.views.label import label_text
from soapstock.views.orders import supply_day


def light_lot(desk: Desk) -> LotCode:
    """The demo's batch that cannot keep what its recipe declares, before it declared less."""
    item = next(v for v in views(desk) if v.facts.declared)
    undo(desk, item.facts.declared[-1].entry_id, because="to see it as it was")
    assert view(desk, item.facts.lot_code).readiness.too_light
    return item.facts.lot_code


def unshipped_lot(desk: Desk) -> LotCode:
    """A batch that may ship and of which nothing was shipped."""
    return next(
        v.facts.lot_code
        for v in views(desk)
        if v.readiness.state == "ready" and not v.facts.shipments
    )


def test_bars_too_light_for_their_label_are_not_promised(desk: Desk) -> None:
    """Their weight gate cannot open, whatever time does."""
    item = view(desk, light_lot(desk))
    assert not item.readiness.gates["weight"].open
    assert supply_day(item, optimistic=True) is None


def test_declaring_less_opens_the_weight_gate(desk: Desk) -> None:
    """Gate, label and promise read the declared weight."""
    lot = light_lot(desk)
    declare(desk, lot, f"{highest_g(desk, lot)} g", "dried more than planned")
    item = view(desk, lot)
    assert item.readiness.gates["weight"].open
    assert supply_day(item, optimistic=True) is not None
    declare(desk, lot, "100 g", "rounder")
    assert "100 g" in label_text(desk, lot).net.text
    assert view(desk, lot).facts.declared[-1].mass_g == Decimal(100)


def test_more_than_the_bars_keep_cannot_be_declared(desk: Desk) -> None:
    """The most that can honestly be promised is told."""
    lot = light_lot(desk)
    with pytest.raises(RuleBroken, match="more than the bars") as refused:
        declare(desk, lot, f"{highest_g(desk, lot) + 1} g", "hope")
    assert str(highest_g(desk, lot).normalize()) in refused.value.hint


def test_a_weight_is_declared_with_a_reason(desk: Desk) -> None:
    """It is a decision like any other."""
    with pytest.raises(BadInput, match="needs a reason"):
        declare(desk, light_lot(desk), "100 g", " ")


def test_once_a_bar_was_shipped_its_weight_stays(desk: Desk) -> None:
    """What a customer was told is not changed behind their back."""
    lot = unshipped_lot(desk)
    sent = ship(desk, lot, 1, customer="A. Customer").entry_id
    with pytest.raises(RuleBroken, match="shipped already"):
        declare(desk, lot, "100 g", "rounder")
    undo(desk, sent, because="never left")
    declare(desk, lot, "100 g", "rounder")


def test_a_declaration_that_bars_were_shipped_under_is_not_undone(desk: Desk) -> None:
    """The shipping is undone first."""
    lot = unshipped_lot(desk)
    entry = declare(desk, lot, "100 g", "rounder").entry_id
    ship(desk, lot, 1, customer="A. Customer")
    with pytest.raises(RuleBroken, match="undo"):
        undo(desk, entry, because="changed my mind")


def test_before_its_day_a_declaration_is_not_known(desk: Desk) -> None:
    """Looked back on, the batch declares what it declared then."""
    from tests.desks import on

    lot = light_lot(desk)
    before = view(on(desk, "2026-11-19"), lot).recipe.declared_weight_g
    declare(desk, lot, "100 g", "rounder")
    assert before == Decimal(113)
    assert view(desk, lot).recipe.declared_weight_g == Decimal(100)
    assert view(on(desk, "2026-11-19"), lot).recipe.declared_weight_g == before


def test_a_batch_that_declares_less_can_be_released(desk: Desk) -> None:
    """The dead end of a light batch has a way out."""
    lot = light_lot(desk)
    declare(desk, lot, "100 g", "dried more than planned")
    item = view(desk, lot)
    shut = [n for n, g in item.readiness.gates.items() if not g.open and n != "released"]
    if not shut:
        decide(desk, lot, "release", "dry, tongue test passed")
        assert view(desk, lot).readiness.state == "ready"
    assert "weight" not in shut
