"""The questions at the pot: back, corrected, as planned, mended, substituted; nothing is lost."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from soapstock.cli.rounds.pouring import Answers, PourRound
from soapstock.desk.desk import Desk
from soapstock.desk.finding import find_recipe
from soapstock.enter.pour import Poured, pour
from soapstock.enter.receive import receive
from soapstock.recipes.target import make_target
from tests.desks import desk

__all__ = ["desk"]

# EBB for 300 g of tallow: the lines in the order they are asked
# beef-tallow 300, coconut 117, water, naoh, and the rest of its additions


def played(desk: Desk, *typed: str, known: tuple[str, ...] = ()) -> tuple[Poured, list[str]]:
    """A round with these answers, and the questions it asked."""
    asked: list[str] = []
    answers: Iterator[str] = iter(typed)

    def ask(question: str) -> str:
        asked.append(question)
        return next(answers)

    def record(said: Answers) -> Poured:
        return pour(
            desk, "EBB", said.masses, target=said.target, sure=said.sure, record_anyway=said.anyway
        )

    with desk.ledger.read() as reader:
        recipe, _ = find_recipe(reader, "EBB")
    target = make_target(have="beef-tallow=300g", fat=None, bars=None, volume=None)
    given = Answers(masses=list(known), target=target)
    done = PourRound(opened=desk, recipe=recipe, given=given, ask=ask, record=record).run()
    assert next(answers, None) is None
    return done, asked


def masses(done: Poured) -> dict[str, float]:
    """Grams of each ingredient of a pour."""
    return {use.ingredient: use.mass_mg / 1000 for use in done.uses}


def test_enter_at_every_line_is_a_pour_as_planned(desk: Desk) -> None:
    """And one more at the end writes it."""
    done, asked = played(desk, *[""] * 5)
    assert masses(done)["beef-tallow"] == 300
    assert masses(done)["coconut"] == 117
    assert "planned 300 g" in asked[0]


def test_back_one_line_and_a_line_corrected_at_the_end(desk: Desk) -> None:
    """Tallow 301 then back to 300; coconut put right after all is weighed."""
    done, _ = played(desk, "301", "b", "300 g", "118", "", "", "coconut=117", "")
    assert masses(done)["beef-tallow"] == 300
    assert masses(done)["coconut"] == 117


def test_a_bare_number_is_grams_and_other_units_are_taken(desk: Desk) -> None:
    """10.6 oz of tallow is 300.5 g."""
    done, _ = played(desk, "10.6 oz", "", "", "", "")
    assert masses(done)["beef-tallow"] == pytest.approx(300.505, abs=0.001)


def test_a_lye_slip_loses_nothing(desk: Desk) -> None:
    """The lye typed far too high: refused at the end, put right, and written."""
    done, asked = played(desk, "", "", "", "91", "", "naoh=61", "")
    assert masses(done)["naoh"] == 61
    assert any("anyway REASON" in question for question in asked)


def test_lye_run_over_and_mended_by_so_much_more_of_each(desk: Desk) -> None:
    """The first mend asks the fats again, at what they come to in all."""
    done, asked = played(desk, "", "", "", "63", "1", "", "", "", "")
    assert any("so far" in question for question in asked)
    assert masses(done)["beef-tallow"] >= 309
    assert done.judgement.verdict.word != "refuse"


def test_a_fat_that_runs_out_is_filled_up_with_another(desk: Desk) -> None:
    """Coconut 60 g for 117 g; castor for the rest, without a change of the recipe."""
    receive(desk, "castor", "1 kg", supplier="Invented Farm")
    done, _ = played(desk, "", "60", "castor=80", "", "", "sure")
    assert masses(done)["castor"] == 80
    assert done.judgement.verdict.word != "refuse"


def test_too_little_in_store_is_said_and_the_masses_stay(desk: Desk) -> None:
    """What the store lacks is told at the end; another mass is then taken."""
    done, _ = played(desk, "", "117@ZZZ26001AX", "", "", "", "coconut=117", "")
    assert masses(done)["coconut"] == 117


def test_a_stopped_round_says_how_to_go_on_and_goes_on_from_there(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    """Stopped at the third line: nothing is written, and the two masses are known when told so."""
    with desk.ledger.read() as reader:
        recipe, _ = find_recipe(reader, "EBB")
    answers = iter(["301", "117"])

    def ask(_question: str) -> str:
        try:
            return next(answers)
        except StopIteration:
            raise KeyboardInterrupt from None

    def record(_said: Answers) -> Poured:
        raise AssertionError("nothing is written")

    given = Answers(masses=[], target=None)
    with pytest.raises(KeyboardInterrupt):
        PourRound(opened=desk, recipe=recipe, given=given, ask=ask, record=record).run()
    said = capsys.readouterr().out
    assert "-w 'beef-tallow=301 g' -w 'coconut=117 g'" in said
    done, asked = played(desk, *[""] * 3, known=("beef-tallow=301 g", "coconut=117 g"))
    assert masses(done)["beef-tallow"] == 301
    assert not any("tallow" in question for question in asked)


def test_the_cautions_stand_before_the_lye_is_weighed(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    """Once, after the water and before the lye's question, with the peak of this plan."""
    played(desk, *[""] * 5)
    said = capsys.readouterr().out
    assert said.count("LYE BURNS") == 1


def test_ten_times_the_plan_is_asked_about_and_no_pot_ten_times_as_large_is_offered(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    """3000 g for 300 g of tallow, and the water ten times too much: both are typed again."""
    done, _ = played(desk, "3000", "b", "", "", "990", "b", "", "", "")
    said = capsys.readouterr().out
    assert said.count("Look at the scale again") == 2
    assert "the same proportions" not in said
    assert masses(done)["beef-tallow"] == 300
