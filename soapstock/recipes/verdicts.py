"""The verdict on a pot: its superfat, then what may lower it (the lye's strength, limits)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from soapstock.chemistry.heat import solution_problem
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.lye import FatPortion, Lye, Verdict, judge_superfat, superfat_percent
from soapstock.chemistry.uncertainty import SuperfatStudy, study_superfat
from soapstock.recipes.limits import OverLimit
from soapstock.recipes.missing import with_missing_fat


def judge_pot(
    portions: Sequence[FatPortion], lye: Lye, *, scale_step_g: float, meant_percent: float
) -> tuple[SuperfatStudy, Verdict]:
    """What the masses in a pot mean, weighing errors included.

    Args:
        portions: everything that takes lye.
        lye: the alkali as weighed.
        scale_step_g: the scale's step, g.
        meant_percent: superfat the recipe means, %: how much fat is missing is reckoned at it.

    Raises:
        BadInput: no fat, or fats that weigh less than the scale can tell.
    """
    study = study_superfat(portions, lye, scale_step_g=scale_step_g)
    verdict = judge_superfat(
        study.bounds, without_weighing=superfat_percent(portions, lye), central=study.central
    )
    return study, with_missing_fat(verdict, portions, lye, meant_percent)


LyeMark = Literal["safe", "may be lye-heavy", "LYE-HEAVY"]


def lye_mark(superfat: Interval) -> LyeMark:
    """How a recipe is marked in a list by the superfat that its own masses give, %.

    Lye that is left over in the middle of the range burns; at its low end it may.
    """
    if superfat.nominal <= 0.0:
        return "LYE-HEAVY"
    return "may be lye-heavy" if superfat.low <= 0.0 else "safe"


def with_solution(verdict: Verdict, lye_concentration_percent: float, *, has_koh: bool) -> Verdict:
    """The verdict, lowered to `check` when the lye would not dissolve or is oddly weak."""
    problem = None if has_koh else solution_problem(lye_concentration_percent)
    if problem is None:
        return verdict
    word = "check" if verdict.word == "safe" else verdict.word
    return Verdict(word=word, reasons=(*verdict.reasons, problem))


def with_limits(verdict: Verdict, over: Sequence[OverLimit]) -> Verdict:
    """The verdict, `refuse` when a binding limit is passed, `check` when another market's is."""
    if not over:
        return verdict
    sentences = tuple(one.sentence() for one in over)
    if any(one.binding for one in over):
        return Verdict(word="refuse", reasons=(*sentences, *verdict.reasons))
    word = "check" if verdict.word == "safe" else verdict.word
    return Verdict(word=word, reasons=(*verdict.reasons, *sentences))
