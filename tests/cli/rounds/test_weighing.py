"""The round with the scale, by the command line."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from soapstock.cli.frame import asking

DAY = "2026-12-01"  # one batch of the demo then gains by a weigh-in
FIRST, SECOND = "DRF-26316-AN", "MUD-26307-AW"


@pytest.fixture
def weigh(demo_shop: Path, run: Any) -> Callable[..., Any]:
    """`weigh` in the demo shop on that day."""

    def command(*words: object, typed: str = "") -> Any:
        return run("--shop", demo_shop, "--today", DAY, "weigh", *words, typed=typed)

    return command


@pytest.fixture
def person(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Somebody at the keyboard who answers so; an exception in place of an answer is raised."""

    def answers(*lines: str | type[BaseException]) -> None:
        rest = iter(lines)

        def typed(*_: object, **__: object) -> str:
            line = next(rest)
            if isinstance(line, str):
                return line
            raise line

        monkeypatch.setattr(asking, "somebody_answers", lambda: True)
        monkeypatch.setattr("soapstock.cli.rounds.weighing.somebody_answers", lambda: True)
        monkeypatch.setattr("typer.prompt", typed)

    return answers


def test_a_round_asks_only_for_batches_whose_weigh_in_pays(weigh: Any) -> None:
    """A pipe of lines answers in the order asked; bare figures are grams; an empty line skips."""
    told = weigh(typed="1222\n1300\n")
    assert told.code == 0, told.err
    assert FIRST in told.out
    assert SECOND not in told.out, "its dry day is known well enough"
    assert "DRF-26241" not in told.out, "it is ready: nothing is learnt"
    assert told.out.count("Weighed ") == 1


def test_what_was_weighed_today_is_not_asked_again(weigh: Any) -> None:
    """The round is done once a day."""
    assert weigh(typed="1222\n").code == 0
    assert "No weigh-in pays today" in weigh().out


def test_enter_skips_a_batch(weigh: Any) -> None:
    """An empty line leaves the first alone; the second is weighed."""
    told = weigh(FIRST, SECOND, typed="\n1200\n")
    assert told.code == 0, told.err
    assert f"Weighed {SECOND}" in told.out
    assert f"Weighed {FIRST}" not in told.out


def test_a_batch_is_weighed_by_name_with_another_count(weigh: Any) -> None:
    """A named lot is asked for though it would not pay; 9 bars may be on the scale for once."""
    told = weigh("LAN-26297", typed="1068/9\n")
    assert told.code == 0, told.err
    assert "118.7 g a bar" in told.out


def test_a_wrong_line_of_a_pipe_ends_the_round(weigh: Any, demo_shop: Path, run: Any) -> None:
    """Its next line answers another question; what was entered before it stands, and is said."""
    told = weigh(FIRST, SECOND, typed="1222\nabc\n1300\n")
    assert told.code == 2
    assert "abc" in told.err
    assert "stands" in told.err


def test_a_slip_at_the_prompt_is_asked_again(weigh: Any, person: Any) -> None:
    """A typo, a mass that cannot be, more bars than there are: each is asked again."""
    person("12x2", "122", "1222/99", "1222")
    told = weigh()
    assert told.code == 0, told.err
    assert told.out.count("Weighed ") == 1
    assert "cannot be" in told.out
    assert "not 99" in told.out


def test_ctrl_c_keeps_what_was_entered(weigh: Any, person: Any) -> None:
    """The round stops at the second batch; the first one's entry stands and is named."""
    person("1222", KeyboardInterrupt)
    told = weigh(FIRST, SECOND)
    assert told.code == 2
    assert "stopped" in told.err
    assert "stands: do not enter that again" in told.err


def test_a_mass_without_its_count_is_refused(weigh: Any) -> None:
    """`weigh LOT 1180g` says that the count lacks; it does not begin a round."""
    told = weigh(FIRST, "1180g")
    assert told.code == 2
    assert "of how many bars" in told.err
