"""Rebatched soap: bars leave the rack, what is in them counts, and their lye stays in doubt."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from soapstock.desk.desk import Desk
from soapstock.enter import batch, decide, undo
from soapstock.enter.pour import pour
from soapstock.enter.rebatch import parse_rebatch
from soapstock.errors import BadInput, RuleBroken
from soapstock.recipes.target import make_target
from soapstock.views.batch import view
from soapstock.views.cost import cost_of
from soapstock.views.label import label_text
from soapstock.views.poured import piece
from tests.desks import moneyless as desk

__all__ = ["desk"]

HELD = "EEL26290AT"  # 21 bars of 121 g, on hold: a tongue test failed
TESTED = "DRF26241AZ"  # released
PLAN = make_target(have=None, fat="400g", bars=None, volume=None)


def rebatch(desk: Desk, *texts: str, **more: Any) -> str:
    """A small pour with old soap in it; its lot."""
    done = pour(desk, "EBB", [], target=PLAN, as_planned=True, rebatch=texts, **more)
    return done.lot_code


def cured(desk: Desk, lot: str) -> Desk:
    """The desk forty days on, the new bars unmoulded, weighed and tongue tested."""
    poured_g = view(desk, lot).facts.pour.batter_mg / 1000
    bars = round(poured_g / 130)
    for days, share in ((1, 0.98), (20, 0.95), (30, 0.945), (40, 0.943)):
        desk_then = replace(desk, today=desk.today + timedelta(days=days))
        mass = f"{round(poured_g * share)}g"
        if days == 1:
            batch.unmould(desk_then, lot, bars, mass)
        else:
            batch.weigh(desk_then, lot, bars, mass)
    batch.test(desk_then, lot, "tongue", passed=True)
    return desk_then


def test_the_bars_leave_the_rack_and_both_lots_can_be_traced(desk: Desk) -> None:
    """Eight bars go from the rack into the pot, and the link is on record."""
    lot = rebatch(desk, f"{HELD}=8:968g")
    assert view(desk, HELD).facts.places == {"rack": 13}
    with desk.ledger.read() as reader:
        found = reader.follow(lot)
    assert [(x.source, x.bars) for x in found.links if x.bars] == [("EEL26290AT", 8)]


def test_all_mass_of_the_pot_is_in_its_composition(desk: Desk) -> None:
    """What was weighed, old soap included, is what the composition weighs."""
    item = view(desk, rebatch(desk, f"{HELD}=8:968g"))
    assert item.composition.total_g == pytest.approx(item.facts.pour.batter_mg / 1000, rel=1e-9)


def test_superfat_is_of_the_new_fats_alone_and_says_so(desk: Desk) -> None:
    """The verdict is check, never safe, with the reason."""
    plain = pour(desk, "EBB", [], target=PLAN, as_planned=True).judgement
    item = view(desk, rebatch(desk, f"{TESTED}=3:350g"))
    assert item.judgement["superfat_percent"] == plain.superfat.as_dict()
    assert item.judged == "check"
    assert "superfat is that of the new fats and lye alone" in item.judgement["reasons"][-1]


def test_the_label_names_what_was_in_the_old_soap(desk: Desk) -> None:
    """Olive, lavender and the green of the old bars stand on the new label."""
    lot = rebatch(desk, f"{HELD}=8:968g")
    text = label_text(cured(desk, lot), lot).declaration.text
    assert "Olive oil" in text
    assert "Lavender essential oil" in text
    assert text.endswith("Chromium oxide greens")


def test_soap_in_doubt_is_released_by_a_titration_only(desk: Desk) -> None:
    """A tongue test does not find a pocket of lye in a lump of old soap."""
    lot = rebatch(desk, f"{HELD}=8:968g")
    then = cured(desk, lot)
    with pytest.raises(RuleBroken, match="rebatched soap in doubt"):
        decide.decide(then, lot, "release", "dry")
    batch.test(then, lot, "titration", passed=None, value="0.02")
    decide.decide(then, lot, "release", "dry, titrated")


def test_soap_that_passed_its_test_needs_a_test_like_any_other(desk: Desk) -> None:
    """Rebatching released bars asks for no titration."""
    lot = rebatch(desk, f"{TESTED}=3:350g")
    decide.decide(cured(desk, lot), lot, "release", "dry, tongue test passed")


def test_the_old_soap_shortens_the_best_before(desk: Desk) -> None:
    """The new bar keeps no longer than the oldest soap in it."""
    soap = view(desk, TESTED)
    old = soap.best_before
    item = view(desk, rebatch(desk, f"{TESTED}=3:350g"))
    assert item.best_before is not None
    assert old is not None
    assert item.best_before <= old
    # The lot that limits the soap went into the new bar as well: either may be named.
    assert "DRF-26241-AZ" in item.keeping_why or item.keeping_why == soap.keeping_why


def test_soap_of_rebatched_soap_still_counts_all(desk: Desk) -> None:
    """Two generations down the scent of the first is still declared."""
    first = rebatch(desk, f"{HELD}=8:968g")
    then = cured(desk, first)
    second = rebatch(then, f"{first}=4:480g")
    parts = {part.key for part in view(then, second).actual.additions}
    assert "lavender-oil" in parts


def test_rebatched_bars_cost_what_they_cost(desk: Desk) -> None:
    """Own tallow has no cost, so the soap's cost is not known either, and it is named."""
    lot = rebatch(desk, f"{TESTED}=3:350g")
    assert "beef-tallow BEE-26230-AC" in cost_of(desk, lot).unknown


@pytest.mark.parametrize(
    ("text", "error", "words"),
    [
        (f"{HELD}=8", BadInput, "not understood"),
        (f"{HELD}=0:100g", BadInput, "is no bars"),
        (f"{HELD}=8:1968g", BadInput, "cannot weigh"),
        (f"{HELD}=8:500g", BadInput, "cannot weigh"),
        (f"{HELD}=80:9680g", RuleBroken, "21 bars on rack, not 80"),
        (f"{HELD}=8:968g@retained", RuleBroken, "0 bars on retained"),
        ("SAM-26323-AN=1:120g", RuleBroken, "still in its mould"),
    ],
)
def test_bars_that_cannot_go_into_the_pot_are_refused(
    desk: Desk, text: str, error: type[Exception], words: str
) -> None:
    """One clear line, and nothing is written."""
    with desk.ledger.read() as reader:
        before = reader.head()
    with pytest.raises(error, match=words):
        rebatch(desk, text)
    with desk.ledger.read() as reader:
        assert reader.head() == before


def test_a_lot_given_twice_is_refused(desk: Desk) -> None:
    """All bars of a lot stand in one option, so that their mass is one weighing."""
    with pytest.raises(BadInput, match="rebatched twice"):
        rebatch(desk, f"{HELD}=4:484g", f"{HELD}=4:484g")


def test_rejected_soap_goes_into_no_pot(desk: Desk) -> None:
    """A rejection is final until it is undone."""
    decide.decide(desk, HELD, "reject", "not what it should be")
    with pytest.raises(RuleBroken, match="was rejected"):
        rebatch(desk, f"{HELD}=8:968g")


def test_a_pour_with_old_soap_can_be_undone(desk: Desk) -> None:
    """The bars go back where they stood."""
    done = pour(desk, "EBB", [], target=PLAN, as_planned=True, rebatch=[f"{HELD}=8:968g"])
    undo.undo(desk, done.entry_id, "wrong lot")
    assert view(desk, HELD).facts.places == {"rack": 21}


def test_lye_left_over_in_one_soap_is_not_evened_out_by_another(desk: Desk) -> None:
    """Free lye of a part stays free lye of the whole: nobody knows whether they met."""
    pot = view(desk, TESTED).composition
    heavy = replace(pot, free_naoh_g=10.0)
    assert pot.beside(heavy).free_naoh_g == pytest.approx(10.0)
    assert pot.beside(heavy).total_g == pytest.approx(pot.total_g + heavy.total_g)


def test_a_share_of_a_pot_has_its_proportions(desk: Desk) -> None:
    """Every mass is scaled alike."""
    item = view(desk, TESTED)
    assert item.composition.scaled(0.25).total_g == pytest.approx(item.composition.total_g / 4)
    bar = piece(item.composition, item.facts)
    assert bar.water_fraction == pytest.approx(item.composition.water_fraction)


def test_a_rebatch_may_name_its_place() -> None:
    """`@PLACE` says where the bars stood."""
    found = parse_rebatch("DRF-26241-AZ=3: 350g@shelf")
    assert (found.lot, found.bars, float(found.mass_g), found.place) == (
        "DRF-26241-AZ",
        3,
        350.0,
        "shelf",
    )
