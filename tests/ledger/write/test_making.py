"""The facts of making: what goes in, and what is refused."""

from dataclasses import replace
from datetime import date

import pytest

from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.ledger.facts import PourFacts, ReceiveFacts, Use


def test_same_recipe_text_adds_no_version(ledger, maker):
    """Adding the newest text again returns its version and makes no entry."""
    with ledger.write() as w:
        first = w.add_recipe(maker.stamp(), code="DRF", text="a")
        again = w.add_recipe(maker.stamp(1), code="DRF", text="a")
    assert again == first
    with ledger.read() as r:
        assert len(r.entries()) == 1


def test_changed_recipe_text_becomes_the_next_version(ledger, maker):
    """Versions count from one, and an older one can still be read."""
    with ledger.write() as w:
        w.add_recipe(maker.stamp(), code="DRF", text="a")
        assert w.add_recipe(maker.stamp(), code="DRF", text="b").version == 2
    with ledger.read() as r:
        assert (r.recipe("DRF").text, r.recipe("DRF", 1).text) == ("b", "a")


def test_received_lot_reads_back_as_entered(ledger, maker):
    """Every field of a receipt survives the database."""
    facts = ReceiveFacts(
        lot_code="TAL1",
        ingredient="beef-tallow",
        mass_mg=5_000_000_000,
        supplier="Invented Farm",
        supplier_lot="B-7 é",
        cost_cents=12345,
        currency="EUR",
        best_before=date(2027, 3, 1),
        sv_low=194.5,
        sv_nominal=196.25,
        sv_high=198.1,
        certificate="c",
        animal="ewe 12",
        raw_fat_mg=7_000_000_000,
    )
    with ledger.write() as w:
        w.receive(maker.stamp(), facts)
    with ledger.read() as r:
        (lot,) = r.ingredient_lots()
    assert lot.left_mg == lot.mass_mg
    for name in (
        "lot_code",
        "ingredient",
        "mass_mg",
        "supplier",
        "supplier_lot",
        "cost_cents",
        "currency",
        "best_before",
        "sv_low",
        "sv_nominal",
        "sv_high",
        "certificate",
        "animal",
        "raw_fat_mg",
    ):
        assert getattr(lot, name) == getattr(facts, name)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"mass_mg": 0}, "mass received"),
        ({"mass_mg": -5}, "mass received"),
        ({"mass_mg": 1.5}, "whole number"),
        ({"mass_mg": True}, "whole number"),
        ({"sv_low": 190.0}, "low, nominal and high"),
        ({"sv_low": 190.0, "sv_nominal": 180.0, "sv_high": 200.0}, "not in order"),
        ({"sv_low": float("nan"), "sv_nominal": 1.0, "sv_high": 2.0}, "must be a number"),
        ({"supplier": "a\0b"}, "cannot be kept"),
        ({"supplier": "x" * 201}, "at most 200"),
        ({"lot_code": "TAL 1"}, "blank"),
        ({"lot_code": ""}, "lot code"),
        ({"ingredient": ""}, "ingredient"),
    ],
)
def test_bad_receipt_is_refused_and_changes_nothing(ledger, maker, change, said):
    """A value that cannot be gives one clear line and no entry."""
    facts = replace(ReceiveFacts(lot_code="TAL1", ingredient="beef-tallow", mass_mg=1000), **change)
    with pytest.raises(BadInput, match=said), ledger.write() as w:
        w.receive(maker.stamp(), facts)
    with ledger.read() as r:
        assert r.entries() == []


def test_lot_code_in_use_is_refused(ledger, maker):
    """Two live lots never share a code."""
    with ledger.write() as w:
        maker.receive(w)
    with pytest.raises(RuleBroken, match="TAL1 is in use"), ledger.write() as w:
        maker.receive(w)


def test_lot_code_is_free_again_after_undo(ledger, maker):
    """A mistaken receipt, undone, leaves its code for the right one."""
    with ledger.write() as w:
        w.undo(maker.stamp(), maker.receive(w), "typed the wrong mass")
        maker.receive(w, mass_mg=700)
    with ledger.read() as r:
        assert [lot.mass_mg for lot in r.ingredient_lots()] == [700]


def test_pour_takes_from_its_lots(ledger, maker):
    """What goes into the pot is gone from the store, to the milligram."""
    with ledger.write() as w:
        maker.recipe(w)
        maker.receive(w)
        maker.pour(w, mass_mg=1_234_567)
    with ledger.read() as r:
        assert r.ingredient_lots()[0].left_mg == 5_000_000 - 1_234_567
        assert [x.lot_code for x in r.follow("TAL1").forward] == ["TAL1", "DRF1"]


def test_pour_takes_from_several_places_of_a_lot(ledger, maker):
    """A lot that lies in two places is used up from both."""
    with ledger.write() as w:
        maker.recipe(w)
        maker.receive(w)
        w.move(maker.stamp(), "TAL1", 4_500_000, "mg", "store", "shelf")
        maker.pour(w, mass_mg=4_900_000)
    with ledger.read() as r:
        assert [(s.place, s.quantity) for s in r.stock("TAL1")] == [("store", 100_000)]


def test_pour_of_more_than_is_left_is_refused(ledger, maker):
    """The refusal says how much there is."""
    with ledger.write() as w:
        maker.recipe(w)
        maker.receive(w)
    with pytest.raises(RuleBroken, match="TAL1 has 5000 g left; cannot take 6000 g"):
        with ledger.write() as w:
            maker.pour(w, mass_mg=6_000_000)


def test_two_lines_of_one_lot_cannot_take_more_than_it_has(ledger, maker):
    """Lines of one pour add up before the stock is judged."""
    use = Use(lot_code="TAL1", ingredient="beef-tallow", role="fat", mass_mg=3_000_000)
    facts = PourFacts(
        lot_code="DRF1", recipe_code="DRF", recipe_version=1, uses=(use, use), batter_mg=6_000_000
    )
    with ledger.write() as w:
        maker.recipe(w)
        maker.receive(w)
    with pytest.raises(RuleBroken, match="cannot take"), ledger.write() as w:
        w.pour(maker.stamp(1), facts)


def test_pour_from_a_lot_of_another_fat_is_refused(ledger, maker):
    """A slip of lot code is caught by its ingredient."""
    with ledger.write() as w:
        maker.recipe(w)
        maker.receive(w, ingredient="lard")
    with pytest.raises(RuleBroken, match="TAL1 is lard, not beef-tallow"), ledger.write() as w:
        maker.pour(w)


def test_pour_before_its_fat_was_received_is_refused(ledger, maker):
    """Facts keep a possible order."""
    with ledger.write() as w:
        maker.recipe(w)
        maker.receive(w)
    with pytest.raises(RuleBroken, match="before it was received"), ledger.write() as w:
        maker.pour(w, day=-1)


def test_pour_of_an_unknown_recipe_version_is_not_found(ledger, maker):
    """A pour freezes a version that is there."""
    with ledger.write() as w:
        maker.receive(w)
    with pytest.raises(NotFound, match="no recipe DRF version 1"), ledger.write() as w:
        maker.pour(w)


def test_pour_that_fails_half_way_leaves_nothing(ledger, maker):
    """An error inside the transaction takes back what came before it."""
    with ledger.write() as w:
        maker.recipe(w)
        maker.receive(w)

    def interrupted() -> None:
        with ledger.write() as w:
            maker.pour(w)
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    with ledger.read() as r:
        assert len(r.entries()) == 2
        assert r.batches() == []
        assert r.ingredient_lots()[0].left_mg == 5_000_000


def test_rebatched_bars_leave_the_rack(ledger, maker):
    """Bars of an older lot are an ingredient like any other, counted in bars."""
    with ledger.write() as w:
        maker.bars(w)
        use = Use(lot_code="DRF1", ingredient="soap", role="addition", mass_mg=330_000, bars=3)
        facts = PourFacts(
            lot_code="DRF2", recipe_code="DRF", recipe_version=1, uses=(use,), batter_mg=330_000
        )
        w.pour(maker.stamp(40), facts)
    with ledger.read() as r:
        assert r.batch("DRF1").places == {"rack": 7, "waste": 1}
        assert [x.lot_code for x in r.follow("DRF1").forward] == ["DRF1", "DRF2"]


def test_unmould_puts_good_bars_on_the_rack_and_rejects_to_waste(ledger, maker):
    """Rejects come on top of the good bars."""
    with ledger.write() as w:
        maker.bars(w, bars=10)
    with ledger.read() as r:
        batch = r.batch("DRF1")
    assert batch.places == {"rack": 10, "waste": 1}
    assert (batch.unmould.bars, batch.unmould.rejects, batch.unmould.counted_bars) == (10, 1, 10)


def test_unmoulding_twice_is_refused(ledger, maker):
    """The refusal names the entry to undo."""
    with ledger.write() as w:
        maker.bars(w)
    with pytest.raises(RuleBroken, match="was unmoulded on 2026-09-03"), ledger.write() as w:
        w.unmould(maker.stamp(2), "DRF1", 10, 0, 10, 1_000_000)


def test_unmould_heavier_than_the_batter_is_refused(ledger, maker):
    """Bars cannot weigh more than what was poured; an ounce for a gram is caught here."""
    with ledger.write() as w:
        maker.recipe(w)
        maker.receive(w)
        maker.pour(w)
    with pytest.raises(RuleBroken, match="more than the 1300 g poured"), ledger.write() as w:
        w.unmould(maker.stamp(2), "DRF1", 10, 0, 10, 2_000_000)


def test_weighing_in_the_mould_is_refused(ledger, maker):
    """A weigh-in needs bars."""
    with ledger.write() as w:
        maker.recipe(w)
        maker.receive(w)
        maker.pour(w)
    with pytest.raises(RuleBroken, match="still in the mould"), ledger.write() as w:
        w.weigh(maker.stamp(3), "DRF1", 10, 1_000_000)


@pytest.mark.parametrize(
    ("day", "bars", "said"), [(1, 10, "before it was unmoulded"), (9, 11, "only 10 good bars")]
)
def test_impossible_weigh_in_is_refused(ledger, maker, day, bars, said):
    """Neither before the bars were out, nor more of them than there are."""
    with ledger.write() as w:
        maker.bars(w)
    with pytest.raises(RuleBroken, match=said), ledger.write() as w:
        w.weigh(maker.stamp(day), "DRF1", bars, 1_000_000)


def test_weigh_ins_tests_and_decisions_read_back_in_order(ledger, maker):
    """A batch's facts come oldest first with who entered them."""
    with ledger.write() as w:
        maker.bars(w)
        w.weigh(maker.stamp(9), "DRF1", 10, 1_050_000, room_c=18, room_rh=55.5)
        w.weigh(maker.stamp(16, by="Other Hand"), "DRF1", 5, 510_000, place="rack")
        w.test(maker.stamp(29), "DRF1", "tongue", True, "no zap")
        w.decide(maker.stamp(30), "DRF1", "hold", "damp")
        w.decide(maker.stamp(31), "DRF1", "release", "dry now")
    with ledger.read() as r:
        batch = r.batch("DRF1")
    assert [(x.mass_mg, x.by, x.room_c) for x in batch.weigh_ins] == [
        (1_050_000, "Invented Maker", 18.0),
        (510_000, "Other Hand", None),
    ]
    assert [(t.method, t.passed, t.value) for t in batch.tests] == [("tongue", True, "no zap")]
    assert [d.decision for d in batch.decisions] == ["hold", "release"]


def test_hold_without_a_reason_is_refused(ledger, maker):
    """A named person's decision comes with its reason."""
    with ledger.write() as w:
        maker.bars(w)
    with pytest.raises(BadInput, match="reason to hold is empty"), ledger.write() as w:
        w.decide(maker.stamp(3), "DRF1", "hold", "  ")


def test_unknown_lot_offers_near_ones(ledger, maker):
    """A slip of the finger is met with the likeliest codes."""
    with ledger.write() as w:
        maker.bars(w)
    with pytest.raises(NotFound, match="no lot DRF2") as caught, ledger.write() as w:
        w.weigh(maker.stamp(9), "DRF2", 1, 100_000)
    assert "DRF1" in caught.value.hint


def test_an_ingredient_lot_cannot_be_weighed_as_bars(ledger, maker):
    """Each kind of lot has its own facts."""
    with ledger.write() as w:
        maker.receive(w)
    with pytest.raises(RuleBroken, match="not a lot of bars"), ledger.write() as w:
        w.weigh(maker.stamp(9), "TAL1", 1, 100_000)
