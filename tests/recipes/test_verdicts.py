"""What may lower a verdict."""

from __future__ import annotations

import pytest

from soapstock.chemistry.lye import Verdict
from soapstock.recipes.limits import OverLimit
from soapstock.recipes.verdicts import with_limits, with_solution

SAFE = Verdict(word="safe", reasons=("fine",))


@pytest.mark.parametrize(
    ("percent", "has_koh", "word"),
    [(33.3, False, "safe"), (53.0, False, "check"), (10.0, False, "check"), (53.0, True, "safe")],
)
def test_lye_strength_is_checked_for_naoh_alone(percent: float, has_koh: bool, word: str) -> None:
    """Potassium hydroxide dissolves far better; no table here covers it."""
    assert with_solution(SAFE, percent, has_koh=has_koh).word == word


@pytest.mark.parametrize(("binding", "word"), [(True, "refuse"), (False, "check")])
def test_a_passed_limit_lowers_the_verdict(binding: bool, word: str) -> None:
    """Law refuses, another market's law asks to check."""
    over = OverLimit(
        what="x", percent=1.0, most_percent=0.5, scope="", citation="a law", binding=binding
    )
    assert with_limits(SAFE, [over]).word == word
    assert with_limits(SAFE, []) == SAFE


def test_a_refusal_stays_a_refusal() -> None:
    """Nothing softens it."""
    refuse = Verdict(word="refuse", reasons=("burns",))
    assert with_solution(refuse, 10.0, has_koh=False).word == "refuse"
