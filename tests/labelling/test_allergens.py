"""Fragrance allergens against their threshold, date and market."""

from datetime import date
from decimal import Decimal

import pytest

from soapstock.errors import BadInput, RuleBroken
from soapstock.labelling.allergens import (
    all_allergens,
    allergens_in,
    find_allergen,
)
from soapstock.labelling.names import all_materials

LATE = date(2026, 11, 25)


@pytest.mark.parametrize("name", list(all_allergens()))
@pytest.mark.parametrize(("percent", "due"), [("0.0099", False), ("0.01", False), ("0.0101", True)])
def test_each_allergen_is_due_only_above_the_threshold(name: str, percent: str, due: bool) -> None:
    """Just under and exactly 0.01 % of the bar stay unnamed; just over is named."""
    found = allergens_in(
        {"fragrance": 10.0},
        1000.0,  # the scent is 1 % of the bar
        market="eu",
        on=LATE,
        certificates={"fragrance": {name: Decimal(percent) * 100}},
    )
    if name == "Methyl Salicylate":
        assert found[0].percent < 0.06
    assert found[0].due is due


def test_one_allergen_from_two_oils_is_summed() -> None:
    """Linalool under the threshold in each oil but over it together is named."""
    stated = {
        "fragrance": {"Linalool": Decimal("0.6")},
        "rosemary-oil": {"Linalool": Decimal("0.6")},
    }
    one = allergens_in({"fragrance": 10.0}, 1000.0, market="eu", on=LATE, certificates=stated)
    both = allergens_in(
        {"fragrance": 10.0, "rosemary-oil": 10.0}, 1000.0, market="eu", on=LATE, certificates=stated
    )
    assert not one[0].due
    assert both[0].due
    assert both[0].sources == ("fragrance", "rosemary-oil")


def test_the_cured_mass_is_the_basis() -> None:
    """0.0095 % of the batter is 0.01056 % of a bar that lost a tenth of its weight."""
    stated = {"fragrance": {"Linalool": Decimal("0.95")}}
    wet = allergens_in({"fragrance": 10.0}, 1000.0, market="eu", on=LATE, certificates=stated)
    dry = allergens_in({"fragrance": 10.0}, 900.0, market="eu", on=LATE, certificates=stated)
    assert (wet[0].due, dry[0].due) == (False, True)


def test_an_oil_that_is_an_entry_counts_whole() -> None:
    """Virginia cedarwood oil is itself on the list."""
    found = allergens_in({"virginia-cedarwood-oil": 1.0}, 1000.0, market="eu", on=LATE)
    assert [(one.allergen.name, one.percent) for one in found] == [
        ("Juniperus Virginiana Oil", 0.1)
    ]


def test_the_uk_names_only_the_first_list() -> None:
    """Great Britain keeps the first names; the new ones are not due at any date we know."""
    found = allergens_in({"lavender-oil": 15.0}, 1000.0, market="uk", on=date(2030, 1, 1))
    assert {one.allergen.name for one in found if one.due} == {"Linalool", "Limonene"}


@pytest.mark.parametrize(
    ("day", "names"),
    [
        (date(2026, 4, 11), set()),
        (date(2026, 4, 12), {"Linalool", "Limonene"}),
        (date(2026, 7, 31), {"Linalool", "Limonene"}),
    ],
)
def test_canada_starts_on_its_own_days(day: date, names: set[str]) -> None:
    """The old names from 12 April 2026, the added ones from 1 August 2026."""
    found = allergens_in({"lavender-oil": 15.0}, 1000.0, market="ca", on=day)
    assert {one.allergen.name for one in found if one.due} == names


def test_canada_names_the_added_ones_from_august() -> None:
    """On 1 August 2026 the whole list is due for new products."""
    found = allergens_in({"lavender-oil": 15.0}, 1000.0, market="ca", on=date(2026, 8, 1))
    assert all(one.due is one.exceeds for one in found)


def test_a_banned_substance_is_refused_in_the_eu() -> None:
    """A scent holding one of the two banned names is not labelled but refused."""
    with pytest.raises(RuleBroken, match="banned"):
        allergens_in(
            {"fragrance": 1.0},
            1000.0,
            market="eu",
            on=LATE,
            certificates={"fragrance": {"Butylphenyl Methylpropional": Decimal(1)}},
        )


@pytest.mark.parametrize(("oil_percent", "refused"), [(0.0606, False), (0.0607, True)])
def test_wintergreen_is_refused_above_the_cap_on_methyl_salicylate(
    oil_percent: float, refused: bool
) -> None:
    """Annex III entry 324: 0.06 % of methyl salicylate is 0.0606 % of the oil at 99 %."""
    scents = {"wintergreen-oil": oil_percent * 10}
    if refused:
        with pytest.raises(RuleBroken, match=r"0\.06 %"):
            allergens_in(scents, 1000.0, market="eu", on=LATE)
    else:
        assert allergens_in(scents, 1000.0, market="eu", on=LATE)


def test_a_certificate_naming_something_unlisted_is_refused() -> None:
    """A misspelt allergen must not vanish from the label."""
    with pytest.raises(BadInput, match="Linalol"):
        allergens_in(
            {"fragrance": 1.0},
            1000.0,
            market="eu",
            on=LATE,
            certificates={"fragrance": {"Linalol": Decimal(1)}},
        )


def test_no_cured_mass_is_refused() -> None:
    """A share of nothing is no share."""
    with pytest.raises(BadInput):
        allergens_in({"lavender-oil": 1.0}, 0.0, market="eu", on=LATE)


def test_every_oil_s_entry_and_constituents_are_on_the_list() -> None:
    """A misspelt constituent in our own table would be lost silently."""
    for material in all_materials().values():
        named = [*material.allergen_percent, *filter(None, [material.allergen_entry])]
        assert set(named) <= set(all_allergens()), material.key


@pytest.mark.parametrize("written", ["linalool", " LINALOOL ", "78-70-6", "Linalool"])
def test_an_allergen_is_found_in_any_case_or_by_number(written: str) -> None:
    """A certificate's spelling of case must not lose a name."""
    assert find_allergen(written) == "Linalool"


@pytest.mark.parametrize("percent", ["-1", "100.1"])
def test_a_share_that_is_none_is_refused(percent: str) -> None:
    """0 to 100 % of the scent."""
    with pytest.raises(BadInput):
        allergens_in(
            {"fragrance": 1.0},
            1000.0,
            market="eu",
            on=LATE,
            certificates={"fragrance": {"Linalool": Decimal(percent)}},
        )


def test_a_banned_substance_is_passed_over_where_it_is_not_banned() -> None:
    """The ban is the EU's and Great Britain's; it is on no list of names elsewhere."""
    found = allergens_in(
        {"fragrance": 1.0},
        1000.0,
        market="us-cosmetic",
        on=LATE,
        certificates={"fragrance": {"Butylphenyl Methylpropional": Decimal(1)}},
    )
    assert found == ()


def test_a_certificate_keeps_an_oil_s_own_entry() -> None:
    """Figures for its parts do not take a listed oil off the list."""
    found = allergens_in(
        {"lavender-oil": 10.0},
        1000.0,
        market="eu",
        on=LATE,
        certificates={"lavender-oil": {"Linalool": Decimal(30)}},
    )
    assert {one.allergen.name for one in found} == {"Lavandula Oil/Extract", "Linalool"}
