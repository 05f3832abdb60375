"""Markets and rules as dated data."""

from datetime import date, timedelta
from pathlib import Path

import pytest

from soapstock import tables
from soapstock.errors import BadInput, BadTable
from soapstock.labelling import law
from soapstock.labelling.law import NoRuleInForce, find_rule, get_market, markets, rules_in_force
from soapstock.tables import FOLDER
from soapstock.tables.fields import Fields, Source


@pytest.mark.parametrize("key", markets())
def test_every_rule_has_a_citation_a_text_and_a_confidence(key: str) -> None:
    """A rule without its source is no rule."""
    for rule in get_market(key).rules:
        assert rule.citation
        assert rule.text.endswith(".")
        assert rule.confidence in law.CONFIDENCES


@pytest.mark.parametrize("key", markets())
def test_a_market_is_refused_the_day_before_it_starts(key: str) -> None:
    """The first day of a market's table is in, the day before is out."""
    start = get_market(key).starts
    assert rules_in_force(key, start)
    with pytest.raises(NoRuleInForce):
        rules_in_force(key, start - timedelta(days=1))


@pytest.mark.parametrize("key", markets())
def test_every_market_says_what_it_is_about_and_what_words_may_claim(key: str) -> None:
    """`check claims` cites a law in every market, so `rules` lists one too."""
    topics = {rule.topic for rule in get_market(key).rules}
    assert {"scope", "statement", "order", "claims"} <= topics


@pytest.mark.parametrize("key", ["eu", "uk"])
def test_the_ph_limit_is_a_figure_of_its_rule(key: str) -> None:
    """Annex III entry 15a(d): below 11."""
    rule = find_rule(key, "alkali", date(2026, 11, 25))
    assert rule is not None
    assert str(rule.below) == "11"
    assert rule.confidence == "interpretation"


def test_the_street_address_rule_changes_on_its_day() -> None:
    """16 CFR 500.5(c): the wider exception of 80 FR 71686 holds from 17 December 2015."""
    before = find_rule("us-soap", "maker", date(2015, 12, 16))
    after = find_rule("us-soap", "maker", date(2015, 12, 17))
    assert before is not None
    assert after is not None
    assert "directory" in before.text
    assert "website" in after.text


def test_an_unknown_market_names_a_near_one() -> None:
    """A slip in the market's name gets the likely one back."""
    with pytest.raises(BadInput) as caught:
        get_market("us-sope")
    assert "us-soap" in caught.value.hint


def _row(**given: object) -> Fields:
    """A rule's table with these keys, as it is read from the file of a market."""
    row = {"id": "x", "topic": "order", "text": "T.", "citation": "c", "confidence": "read"}
    source = Source(text="", where="eu.toml", error=BadTable)
    top = Fields(source, "", {"rules": [{**row, **given}]}, ("rules",))
    return top.rows("rules", law._RULE_KEYS)[0]


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"citatoin": "y"}, r"rules\[1\]\.citatoin: unknown field"),
        ({"from": "2000-01-01"}, "from: '2000-01-01' is not a day"),
        ({"confidence": "sure"}, "confidence: 'sure' is not one of read"),
        ({"from": date(2001, 1, 1), "until": date(2000, 1, 1)}, "until: rule x ends before"),
        ({"from": date(2001, 1, 1), "below": "11"}, "below: '11' is not a number"),
        ({}, "from: is missing"),
    ],
)
def test_a_rule_that_is_written_wrong_is_a_bad_table(given: dict[str, object], said: str) -> None:
    """A misspelt key, a day in quotes, a mark nobody knows: named, not passed over."""
    with pytest.raises(BadTable, match=said):
        law._rule("eu", _row(**given))


def test_a_rule_that_overlaps_itself_is_a_bad_table() -> None:
    """Two versions of one rule may not hold on the same day."""
    first = law._rule("eu", _row(**{"from": date(2000, 1, 1)}))
    second = law._rule("eu", _row(**{"from": date(2001, 1, 1)}))
    with pytest.raises(BadTable, match="overlaps"):
        law._refuse_overlaps("eu", (first, second))


def marks(value: object) -> list[str]:
    """Every confidence mark in a table, however deep."""
    if isinstance(value, dict):
        own = [value["confidence"]] if "confidence" in value else []
        return own + [mark for inner in value.values() for mark in marks(inner)]
    if isinstance(value, list):
        return [mark for inner in value for mark in marks(inner)]
    return []


@pytest.mark.parametrize(
    "path",
    sorted(one for room in ("law", "names", "limits") for one in (FOLDER / room).rglob("*.toml")),
    ids=lambda path: path.name,
)
def test_every_mark_in_the_law_tables_is_one_we_know(path: Path) -> None:
    """Read, read-2, derived, interpretation, from memory or our own: nothing vaguer."""
    found = marks(tables.read_toml(path.relative_to(FOLDER).as_posix()))
    assert found
    assert set(found) <= set(law.CONFIDENCES)
