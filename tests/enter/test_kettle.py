"""Rendering: raw lots in, a rendered lot out, and the trace goes through."""

from __future__ import annotations

import pytest

from soapstock.desk.desk import Desk
from soapstock.enter.entered import Entered
from soapstock.enter.kettle import render
from soapstock.enter.pour import pour
from soapstock.enter.receive import receive
from soapstock.enter.undo import undo
from soapstock.errors import BadInput, RuleBroken
from soapstock.recipes.target import make_target
from soapstock.views.history import IngredientHistory, scan


@pytest.fixture
def raw(desk: Desk) -> list[Entered]:
    """Raw fat of an own animal, and some of a butcher's."""
    return [
        receive(desk, "raw-beef-tallow", "5.6kg", animal="steer 7"),
        receive(desk, "raw-beef-tallow", "3kg", supplier="Invented Butcher", supplier_lot="B-7"),
    ]


def test_a_trace_goes_from_the_animal_to_the_batch(desk: Desk, raw: list[Entered]) -> None:
    """Raw lots, rendered lot, batch: two steps either way."""
    sources = [f"{raw[0].lot_code}=5.6kg", f"{raw[1].lot_code}=3kg"]
    fat = render(desk, "beef-tallow", "6.1kg", sources)
    done = pour(
        desk,
        "EBB",
        [f"tallow=300g@{fat.lot_code}"],
        as_planned=True,
        target=make_target(have="beef-tallow=300g", fat=None, bars=None, volume=None),
    )
    with desk.ledger.read() as reader:
        back = reader.follow(done.lot_code).back
        ahead = reader.follow(raw[0].lot_code).forward
    origins = {lot.lot_code: (lot.depth, lot.origin) for lot in back}
    assert origins[raw[0].lot_code] == (2, "own animal, steer 7")
    assert origins[raw[1].lot_code] == (2, "Invented Butcher")
    assert [lot.lot_code for lot in ahead] == [raw[0].lot_code, fat.lot_code, done.lot_code]


def test_a_scan_of_the_raw_fat_names_the_batch_it_reached(desk: Desk, raw: list[Entered]) -> None:
    """Through the lot it was rendered into, as a maker with one suspect animal must know."""
    fat = render(desk, "beef-tallow", "4kg", [f"{raw[0].lot_code}=5.6kg"])
    done = pour(
        desk,
        "EBB",
        [f"tallow=300g@{fat.lot_code}"],
        as_planned=True,
        target=make_target(have="beef-tallow=300g", fat=None, bars=None, volume=None),
    )
    found = scan(desk, raw[0].lot_code)
    assert isinstance(found, IngredientHistory)
    assert found.rendered == (fat.lot_code,)
    assert [batch.lot_code for batch in found.batches] == [done.lot_code]
    assert found.through == {done.lot_code: fat.lot_code}


def test_the_raw_fat_leaves_its_lot(desk: Desk, raw: list[Entered]) -> None:
    """What went into the kettle is no longer in store."""
    render(desk, "beef-tallow", "1kg", [f"{raw[0].lot_code}=1.5kg"])
    with desk.ledger.read() as reader:
        assert reader.ingredient_lot(raw[0].lot_code).left_mg == 4_100_000


def test_the_rendered_lot_says_its_yield_and_its_animal(desk: Desk, raw: list[Entered]) -> None:
    """4 kg of 5.6 kg are 71 %."""
    done = render(desk, "beef-tallow", "4kg", [f"{raw[0].lot_code}=5.6kg"])
    assert "Yield 71 % of the raw fat." in done.notes
    with desk.ledger.read() as reader:
        lot = reader.ingredient_lot(done.lot_code)
    assert (lot.animal, lot.raw_fat_mg) == ("steer 7", 5_600_000)


def test_rendered_fat_may_be_cleaned_once_more(desk: Desk, raw: list[Entered]) -> None:
    """A second rendering makes a lot of the same fat from a rendered one."""
    first = render(desk, "beef-tallow", "4kg", [f"{raw[0].lot_code}=5.6kg"])
    second = render(desk, "beef-tallow", "3.9kg", [f"{first.lot_code}=4kg"])
    with desk.ledger.read() as reader:
        depths = [(x.lot_code, x.depth) for x in reader.follow(second.lot_code).back]
    assert depths == [(second.lot_code, 0), (first.lot_code, 1), (raw[0].lot_code, 2)]


def test_a_rendering_undone_gives_the_raw_fat_back(desk: Desk, raw: list[Entered]) -> None:
    """The reversing entry puts it where it was."""
    done = render(desk, "beef-tallow", "4kg", [f"{raw[0].lot_code}=5.6kg"])
    undo(desk, done.entry_id, "wrong lot")
    with desk.ledger.read() as reader:
        assert reader.ingredient_lot(raw[0].lot_code).left_mg == 5_600_000


def test_raw_fat_in_use_cannot_be_undone(desk: Desk, raw: list[Entered]) -> None:
    """The rendering builds on it."""
    render(desk, "beef-tallow", "4kg", [f"{raw[0].lot_code}=5.6kg"])
    with pytest.raises(RuleBroken, match="builds on it"):
        undo(desk, raw[0].entry_id, "wrong animal")


@pytest.mark.parametrize(
    ("fat", "mass", "source", "error", "words"),
    [
        ("beef-tallow", "4kg", "", BadInput, "rendered from"),
        ("beef-tallow", "4kg", "RAW", BadInput, "not understood"),
        ("beef-tallow", "4kg", "{}=3kg", BadInput, "cannot be"),
        ("beef-tallow", "4kg", "{}=0g", BadInput, "is no mass"),
        ("beef-tallow", "4kg", "{}=6kg", RuleBroken, "has 5600 g left"),
        ("lard", "1kg", "{}=2kg", RuleBroken, "no lard is rendered"),
        ("raw-beef-tallow", "1kg", "{}=2kg", BadInput, "is what goes in"),
    ],
)
def test_what_cannot_be_a_rendering_is_refused(
    desk: Desk,
    raw: list[Entered],
    fat: str,
    mass: str,
    source: str,
    error: type[Exception],
    words: str,
) -> None:
    """One clear line, and nothing is written."""
    with desk.ledger.read() as reader:
        before = reader.head()
    with pytest.raises(error, match=words):
        render(desk, fat, mass, [source.format(raw[0].lot_code)] if source else [])
    with desk.ledger.read() as reader:
        assert reader.head() == before


def test_a_raw_lot_is_named_once(desk: Desk, raw: list[Entered]) -> None:
    """Its masses are added up first."""
    one = f"{raw[0].lot_code}=1kg"
    with pytest.raises(BadInput, match="given twice"):
        render(desk, "beef-tallow", "1kg", [one, one])
