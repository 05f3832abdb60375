"""The rule behind each statement, its size and its place."""

from dataclasses import replace

import pytest

from soapstock.errors import BadInput
from soapstock.labelling.explain import explain
from soapstock.labelling.wording import word_label
from tests.labelling.test_wording import facts


def test_the_net_weight_s_size_and_place_are_explained() -> None:
    """A 54 cm2 panel: 3.2 mm, the lowest 30 %, clear space, bold."""
    weight = next(
        one for one in explain(word_label(facts()), 54.0) if one.statement.kind == "net_weight"
    )
    assert weight.size is not None
    assert weight.size.min_mm == 3.2
    assert "lowest 30 %" in weight.place
    assert "16 CFR 500.6" in weight.place


def test_without_the_panel_s_area_a_us_size_stays_open() -> None:
    """No size is guessed for a panel we do not know."""
    weight = next(one for one in explain(word_label(facts())) if one.statement.kind == "net_weight")
    assert weight.size is None


def test_an_eu_size_goes_by_the_weight() -> None:
    """113 g wants figures of 3 mm, whatever the panel."""
    found = {one.statement.kind: one for one in explain(word_label(facts("eu")))}
    weight = found["net_weight"].size
    assert weight is not None
    assert weight.min_mm == 3


def test_a_wording_without_a_day_cannot_be_explained() -> None:
    """The rules are dated, so the day is needed."""
    with pytest.raises(BadInput):
        explain(replace(word_label(facts()), on=None))
