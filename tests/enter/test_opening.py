"""Bars from before the ledger: what is known is entered, what is not known is said."""

from __future__ import annotations

from datetime import date

import pytest

from soapstock.cli.cure import text_chart
from soapstock.desk.desk import Desk
from soapstock.enter.decide import decide
from soapstock.enter.opening import AS_NOTED, AS_RECIPE, Bars, open_bars
from soapstock.enter.recall import recall
from soapstock.enter.receive import FROM_BEFORE, receive
from soapstock.errors import BadInput, RuleBroken
from soapstock.views.batch import view
from soapstock.views.cure import cure
from soapstock.views.stock import ingredient_lots
from soapstock.views.teachers import shop_teachers
from tests.desks import desk

__all__ = ["desk"]

POURED = date(2026, 10, 12)
NOTED = ["beef-tallow=720g", "coconut=280g", "naoh=143g", "water=233g"]


def test_noted_bars_stand_like_any_other(desk: Desk) -> None:
    """Counted, dated by their pour, weighed today; tested and released by nobody yet."""
    done = open_bars(desk, "EBB", NOTED, POURED, Bars(count=6, made=10, mass="700g"))
    found = view(desk, done.lot_code)
    assert (found.bars, found.day, found.facts.poured_on) == (6, 39, POURED)
    assert found.facts.pour.from_before
    assert float(found.facts.unmould.bar_g) == pytest.approx(137.6)  # 1376 g in ten bars
    assert found.last_weight_g == pytest.approx(700 / 6, abs=0.01)
    assert found.readiness.state == "awaiting test"
    assert found.judged == "check"
    assert found.judgement["reasons"][0] == AS_NOTED
    with pytest.raises(RuleBroken):
        decide(desk, done.lot_code, "release", "looks fine")


def test_the_recipe_stands_in_and_says_so(desk: Desk) -> None:
    """Its own superfat, never called safe."""
    done = open_bars(desk, "EBB", [], POURED, Bars(count=6), as_recipe=True)
    found = view(desk, done.lot_code)
    assert found.judgement["reasons"][0] == AS_RECIPE
    assert found.judged == "check"
    low, high = (found.judgement["superfat_percent"][end] for end in ("low", "high"))
    assert low < 5 < high  # the recipe's own superfat


def test_a_lye_heavy_note_is_refused_or_held(desk: Desk) -> None:
    """As at a pour; nothing is written without the reason."""
    heavy = [*NOTED[:2], "naoh=170g", NOTED[3]]
    before = desk_head(desk)
    with pytest.raises(RuleBroken):
        open_bars(desk, "EBB", heavy, POURED, Bars(count=6))
    assert desk_head(desk) == before
    done = open_bars(desk, "EBB", heavy, POURED, Bars(count=6), record_anyway="it stands there")
    assert view(desk, done.lot_code).readiness.state == "on hold"


def desk_head(desk: Desk) -> tuple[int, str]:
    """How far the ledger goes."""
    with desk.ledger.read() as reader:
        return reader.head()


def test_they_teach_nothing(desk: Desk) -> None:
    """What a bar weighed when it was wet is reckoned, not weighed."""
    before = len(shop_teachers(desk).batches)
    open_bars(desk, "EBB", NOTED, date(2026, 8, 1), Bars(count=6, made=10, mass="690g"))
    assert len(shop_teachers(desk).batches) == before


def test_a_recall_thinks_of_them(desk: Desk) -> None:
    """Their lots are not known, so any lot of the ingredient may be in them."""
    done = open_bars(desk, "EBB", NOTED, POURED, Bars(count=6))
    coconut = next(row.lot for row in ingredient_lots(desk, "coconut", everything=True))
    assert recall(desk, coconut, clock=lambda: 0.0).may_hold == (done.lot_code,)
    silk = next(row.lot for row in ingredient_lots(desk, "naoh", everything=True))
    assert recall(desk, silk, clock=lambda: 0.0).may_hold == (done.lot_code,)
    assert recall(desk, done.lot_code, clock=lambda: 0.0).may_hold == ()


@pytest.mark.parametrize(
    ("weighed", "bars", "day", "said"),
    [
        ([], Bars(count=6), POURED, "not said"),
        (["beef-tallow=720g"], Bars(count=6), POURED, "not weighed"),
        (NOTED, Bars(count=6, made=5), POURED, "5 bars were made"),
        (NOTED, Bars(count=0), POURED, "bars"),
        (NOTED, Bars(count=6, mass="70g"), POURED, "cannot be"),
        (NOTED, Bars(count=6), date(2026, 11, 20), "not before today"),
        ([NOTED[0] + "@TAL-26230-AQ", *NOTED[1:]], Bars(count=6), POURED, "name no lots"),
    ],
)
def test_what_cannot_be_is_refused_whole(
    desk: Desk, weighed: list[str], bars: Bars, day: date, said: str
) -> None:
    """One line, and the ledger as it was."""
    before = desk_head(desk)
    with pytest.raises((BadInput, RuleBroken), match=said):
        open_bars(desk, "EBB", weighed, day, bars)
    assert desk_head(desk) == before


def test_an_ingredient_at_hand_may_come_from_nobody_known(desk: Desk) -> None:
    """It says so where the supplier stands; a known supplier stays."""
    receive(desk, "olive", "2kg", from_before=True)
    receive(desk, "olive", "1kg", from_before=True, supplier="Invented Mill")
    lots = ingredient_lots(desk, "olive", everything=True)[-2:]
    assert {row.supplier for row in lots} == {FROM_BEFORE, "Invented Mill"}


def test_the_curve_says_that_their_first_weight_was_reckoned(desk: Desk) -> None:
    """Nobody weighed them out of the mould; today's weight was weighed."""
    opened = open_bars(desk, "EBB", NOTED, POURED, Bars(count=6, made=10, mass="700g"))
    seen = cure(desk, opened.lot_code)
    assert [reading.reckoned for reading in seen.chart.readings] == [True, False]
    assert "r" in "".join(text_chart(seen))
    assert not any(reading.reckoned for reading in cure(desk, "DRF-26241").chart.readings)
