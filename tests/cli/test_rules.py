"""`rules`: the law as people read it."""

import json
from typing import Any

import pytest

from soapstock.labelling.law import markets


def test_rules_print_citations_and_confidence(run: Any) -> None:
    """Each rule stands with its source and how we know it."""
    told = run("--today", "2026-11-25", "rules", "us-soap")
    assert told.code == 0
    assert "16 CFR 500.5(a)-(c) [read]" in told.out


def test_rules_as_json_are_dated(run: Any) -> None:
    """A machine gets the rule, its source and its days."""
    rows = json.loads(run("--today", "2026-11-25", "rules", "us-cosmetic", "--json").out)
    contact = next(row for row in rows if row["rule"] == "contact")
    assert contact["from"] == "2024-12-29"
    assert contact["required"] is True


def test_sizes_come_with_the_place_of_the_weight_and_the_signs(run: Any) -> None:
    """The lowest 30 % in the United States; the e-mark's height in the EU."""
    assert "lowest 30 %" in run("--today", "2026-11-25", "rules", "us-soap", "--sizes").out
    assert "e-mark, at least 3.0 mm" in run("--today", "2026-11-25", "rules", "eu", "--sizes").out


@pytest.mark.parametrize("market", ["us-soap", "us-cosmetic", "eu", "uk", "ca"])
@pytest.mark.parametrize("more", [[], ["--sizes"]])
def test_rules_are_plain_words_on_eighty_columns(run: Any, market: str, more: list[str]) -> None:
    """No inner names, every mark explained, nothing cut off."""
    told = run("--today", "2026-11-25", "rules", market, *more).out
    assert "_" not in told
    assert "[read-2] at" in told
    assert all(len(line) <= 80 for line in told.splitlines())


def test_the_markets_are_listed_without_one(run: Any) -> None:
    """No help text names them; the list comes from the tables."""
    told = run("rules", "--json")
    assert [row["market"] for row in json.loads(told.out)] == list(markets())
    assert "Great Britain" in run("rules").out
