"""Pouring: lots chosen first expired first, judged before anything is written."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from soapstock.desk.desk import Desk
from soapstock.enter.pour import choose_lots, pour
from soapstock.enter.receive import receive
from soapstock.enter.undo import undo
from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.recipes.scaling import Target
from soapstock.recipes.target import make_target
from soapstock.recipes.weighing import Weighed, match_name, parse_weighed

TALLOW = "beef-tallow=300g"


def plan(have: str) -> object:
    """A target from one ingredient."""
    return make_target(have=have, fat=None, bars=None, volume=None)


def test_as_planned_takes_every_mass_of_the_plan(desk: Desk) -> None:
    """A pour as planned uses what the weigh list says."""
    done = pour(desk, "EBB", [], target=plan(TALLOW), as_planned=True)  # type: ignore[arg-type]
    masses = {use.ingredient: use.mass_mg for use in done.uses}
    assert masses["beef-tallow"] == 300_000
    assert masses["coconut"] == 117_000
    assert done.batter_g == Decimal(sum(masses.values())) / 1000


def test_the_first_expired_lot_goes_first(desk: Desk) -> None:
    """Of two lots the one with the earlier best-before is used, then the next."""
    with desk.ledger.read() as reader:
        lots = [x for x in reader.ingredient_lots("beef-tallow") if x.left_mg > 0]
    lots.sort(key=lambda lot: lot.best_before or lot.received_on)
    wanted = lots[0].left_mg // 1000 + 50
    done = pour(desk, "EBB", [], target=plan(f"beef-tallow={wanted}g"), as_planned=True)  # type: ignore[arg-type]
    used = [use for use in done.uses if use.ingredient == "beef-tallow"]
    assert [use.lot_code for use in used] == [lot.lot_code for lot in lots[: len(used)]]
    assert used[0].mass_mg == lots[0].left_mg


def test_a_named_lot_is_used_even_if_another_expires_first(desk: Desk) -> None:
    """NAME=MASS@LOT takes from that lot."""
    with desk.ledger.read() as reader:
        lots = [x for x in reader.ingredient_lots("beef-tallow") if x.left_mg > 300_000]
    last = max(lots, key=lambda lot: lot.best_before or lot.received_on)
    done = pour(
        desk,
        "EBB",
        [f"tallow=300g@{last.lot_code}"],
        target=plan(TALLOW),
        as_planned=True,  # type: ignore[arg-type]
    )
    assert {u.lot_code for u in done.uses if u.ingredient == "beef-tallow"} == {last.lot_code}


def test_a_lot_of_something_else_is_refused(desk: Desk) -> None:
    """A coconut lot cannot give tallow."""
    with desk.ledger.read() as reader:
        coconut = reader.ingredient_lots("coconut")[0].lot_code
    with pytest.raises(NotFound):
        pour(desk, "EBB", [f"tallow=300g@{coconut}"], target=plan(TALLOW), as_planned=True)  # type: ignore[arg-type]


def test_an_unmeasured_colour_is_traced_without_a_mass(desk: Desk) -> None:
    """The colour's lot stands in the pour though nobody weighed it."""
    done = pour(desk, "DRF", [], target=plan(TALLOW), as_planned=True)  # type: ignore[arg-type]
    charcoal = next(use for use in done.uses if use.ingredient == "charcoal")
    assert charcoal.lot_code is not None
    assert charcoal.mass_mg == 0


def test_a_refused_pour_writes_nothing(desk: Desk) -> None:
    """Twice the lye is refused and the stock is as before."""
    with desk.ledger.read() as reader:
        before = reader.stock()
    with pytest.raises(RuleBroken, match="refused"):
        pour(desk, "EBB", ["naoh=120g"], target=plan(TALLOW), as_planned=True)  # type: ignore[arg-type]
    with desk.ledger.read() as reader:
        assert reader.stock() == before


def test_a_pour_freezes_its_recipe_version(desk: Desk, tmp_path_factory: object) -> None:
    """A later version of the recipe leaves an earlier pour's text alone."""
    done = pour(desk, "EBB", [], target=plan(TALLOW), as_planned=True)  # type: ignore[arg-type]
    with desk.ledger.read() as reader:
        old = reader.recipe("EBB").text
    with desk.ledger.write() as writer:
        new = old.replace("superfat_percent = 5", "superfat_percent = 8")
        writer.add_recipe(desk.stamp(), code="EBB", text=new)
    with desk.ledger.read() as reader:
        assert reader.batch(done.lot_code).recipe_text == old
        assert reader.recipe("EBB").version == done.version + 1


def test_a_certificate_narrows_the_superfat(empty: Desk, desk: Desk) -> None:
    """Certified lots give a narrower superfat than the table's ranges."""
    with desk.ledger.read() as reader:
        text = reader.recipe("EBB").text
    with empty.ledger.write() as writer:
        writer.add_recipe(empty.stamp(), code="EBB", text=text)
    wide = pour(desk, "EBB", [], target=plan(TALLOW), as_planned=True)  # type: ignore[arg-type]
    receive(empty, "beef-tallow", "2kg", supplier="S", certificate_sv="197±1")
    receive(empty, "coconut", "2kg", supplier="S", certificate_sv="257±1")
    receive(empty, "naoh", "1kg", supplier="S")
    narrow = pour(empty, "EBB", [], target=plan(TALLOW), as_planned=True)  # type: ignore[arg-type]
    a, b = narrow.judgement.superfat, wide.judgement.superfat
    assert a.high - a.low < b.high - b.low


@pytest.mark.parametrize(
    ("name", "means"),
    [
        ("tallow", "beef-tallow"),
        ("COCO", "coconut"),
        ("lye", "naoh"),
        ("Beef_Tallow", "beef-tallow"),
    ],
)
def test_a_name_may_be_shortened(name: str, means: str) -> None:
    """The only ingredient it begins is meant."""
    assert match_name(name, ["beef-tallow", "coconut", "naoh", "water"], "EBB") == means


def test_an_ambiguous_name_is_refused() -> None:
    """Two tallows: say which."""
    with pytest.raises(BadInput, match="several"):
        match_name("tallow", ["beef-tallow", "mutton-tallow"], "X")


def test_a_weighing_reads_its_lot(desk: Desk) -> None:
    """NAME=MASS@LOT is split in three."""
    from soapstock.desk.finding import find_recipe

    with desk.ledger.read() as reader:
        recipe, _ = find_recipe(reader, "ebb")
    weighed = parse_weighed("coconut=1lb@COC-26233-AI", recipe)
    assert weighed.lot == "COC-26233-AI"
    assert weighed.mass_g == Decimal("453.59237")


def test_a_mass_far_from_its_plan_must_be_confirmed(desk: Desk) -> None:
    """Lye of a tenth would not burn, but is a slip: refused until the maker is sure."""
    aim = plan(TALLOW)
    with pytest.raises(RuleBroken, match="far from the plan"):
        pour(desk, "EBB", ["naoh=6g"], target=aim, as_planned=True)  # type: ignore[arg-type]
    done = pour(desk, "EBB", ["naoh=6g"], target=aim, as_planned=True, sure=True)  # type: ignore[arg-type]
    assert done.judgement.far_off == ("NaOH",)


def test_lye_is_judged_before_the_stock(desk: Desk) -> None:
    """Ounces for grams is told as lye-heavy even when the store has not that much lye."""
    with pytest.raises(RuleBroken, match="lye-heavy"):
        pour(desk, "EBB", ["naoh=200oz"], target=plan(TALLOW), as_planned=True)  # type: ignore[arg-type]


def test_an_expired_lot_is_passed_by(empty: Desk, desk: Desk) -> None:
    """An expired lot is used only when it is named."""
    from datetime import date

    with desk.ledger.read() as reader:
        text = reader.recipe("EBB").text
    with empty.ledger.write() as writer:
        writer.add_recipe(empty.stamp(), code="EBB", text=text)
    old = receive(empty, "beef-tallow", "2kg", supplier="S", best_before=date(2026, 11, 1))
    assert "pass it by" in old.notes[0]
    receive(empty, "coconut", "2kg", supplier="S")
    receive(empty, "naoh", "1kg", supplier="S")
    with pytest.raises(RuleBroken, match="was best before"):
        pour(empty, "EBB", [], target=plan(TALLOW), as_planned=True)  # type: ignore[arg-type]
    named = pour(
        empty,
        "EBB",
        [f"tallow=300g@{old.lot_code}"],
        target=plan(TALLOW),
        as_planned=True,  # type: ignore[arg-type]
    )
    assert old.lot_code in {use.lot_code for use in named.uses}


def test_a_code_is_never_given_twice(desk: Desk) -> None:
    """An undone pour's code may stand on a printed card: the next pour gets another."""
    from soapstock.enter.undo import undo

    first = pour(desk, "EBB", [], target=plan(TALLOW), as_planned=True)  # type: ignore[arg-type]
    undo(desk, first.entry_id, "wrong recipe")
    second = pour(desk, "EBB", [], target=plan(TALLOW), as_planned=True)  # type: ignore[arg-type]
    assert second.lot_code != first.lot_code


def test_a_fat_the_recipe_lacks_is_a_substitute_that_the_maker_must_be_sure_of(desk: Desk) -> None:
    """Coconut ran out; castor took its place: asked about, then recorded as what it was."""
    receive(desk, "castor oil", "1 kg", supplier="Invented Farm")
    masses = ["coconut=60g", "castor=80g"]
    with pytest.raises(RuleBroken, match="Castor oil"):
        pour(desk, "EBB", masses, target=plan(TALLOW), as_planned=True)  # type: ignore[arg-type]
    done = pour(desk, "EBB", masses, target=plan(TALLOW), as_planned=True, sure=True)  # type: ignore[arg-type]
    used = {use.ingredient: (use.role, use.mass_mg) for use in done.uses}
    assert used["castor"] == ("fat", 80_000)
    assert used["coconut"] == ("fat", 60_000)


def test_none_of_a_fat_may_be_said(desk: Desk) -> None:
    """`coconut=0`: all of it replaced; too little lye demand is refused as ever."""
    receive(desk, "babassu", "1 kg", supplier="Invented Farm")
    masses = ["coconut=0", "babassu=125g"]
    done = pour(desk, "EBB", masses, target=plan(TALLOW), as_planned=True, sure=True)  # type: ignore[arg-type]
    assert "coconut" not in {use.ingredient for use in done.uses}
    with pytest.raises(RuleBroken, match="refused"):
        pour(desk, "EBB", ["coconut=0"], target=plan(TALLOW), as_planned=True, sure=True)  # type: ignore[arg-type]


def test_names_that_are_printed_are_also_taken(desk: Desk) -> None:
    """The trade name in any case, with spaces or hyphens."""
    done = pour(
        desk, "EBB", ["Beef tallow=300g", "Coconut oil=117g"], target=plan(TALLOW), as_planned=True
    )  # type: ignore[arg-type]
    assert {"beef-tallow", "coconut"} <= {use.ingredient for use in done.uses}


def test_a_crumb_of_an_emptied_lot_goes_into_no_pot(desk: Desk) -> None:
    """0.39 g left over by rounding pounds: a recall of that lot must not reach this pot."""
    old = receive(desk, "lard", "300.39g", supplier="Old Farm", best_before=date(2027, 1, 1))
    new = receive(desk, "lard", "2kg", supplier="New Farm", best_before=date(2027, 6, 1))
    with desk.ledger.read() as reader:
        lots = reader.ingredient_lots("lard")
    taken = choose_lots(desk, lots, Weighed(ingredient="lard", mass_g=Decimal("300")), desk.today)
    assert [lot.lot_code for lot, _ in taken] == [old.lot_code]
    crumb = [replace(lot, left_mg=390) if lot.lot_code == old.lot_code else lot for lot in lots]
    taken = choose_lots(desk, crumb, Weighed(ingredient="lard", mass_g=Decimal("992")), desk.today)
    assert [(lot.lot_code, mg) for lot, mg in taken] == [(new.lot_code, 992_000)]
    scarce = choose_lots(
        desk, crumb, Weighed(ingredient="lard", mass_g=Decimal("2000.39")), desk.today
    )
    assert len(scarce) == 2, "without the crumb it would not do"


def test_one_pour_entered_twice_is_asked_about(desk: Desk) -> None:
    """The same masses of the same on one day; another mass, or being sure, and it is poured."""
    first = pour(desk, "EBB", [], target=Target(total_fat_g=Decimal(500)), as_planned=True)
    again = {"target": Target(total_fat_g=Decimal(500)), "as_planned": True}
    with pytest.raises(RuleBroken, match=f"that day already: {first.lot_code.shown}"):
        pour(desk, "EBB", [], **again)
    pour(desk, "EBB", ["water=120g"], **again)
    second = pour(desk, "EBB", [], sure=True, **again)
    undo(desk, first.entry_id, "typed twice")
    undo(desk, second.entry_id, "typed twice")
    pour(desk, "EBB", [], **again)
