"""What may lower a verdict besides the superfat: the lye's strength, and limits on additions."""

from __future__ import annotations

from collections.abc import Sequence

from soapstock.chemistry.heat import solution_problem
from soapstock.chemistry.lye import Verdict
from soapstock.recipes.limits import OverLimit


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
