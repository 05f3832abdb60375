"""The allergen list and its worked figures.

Sources: Regulation (EC) No 1223/2009 Annex III as amended by (EU) 2023/1545; Ph. Eur. and ISO
ranges of the oils as the tables cite them.
"""

from datetime import date
from decimal import Decimal

import pytest
from stdnum import casrn

from soapstock.errors import NotFound
from soapstock.labelling.allergens import all_allergens, allergens_in
from soapstock.labelling.names import all_materials, find_material, name_of

LATE = date(2026, 11, 25)


def test_there_are_eighty_one_entries() -> None:
    """A CosIng Annex III export counts 81 entries with the 0.001 / 0.01 % labelling duty."""
    assert len(all_allergens()) == 81


def test_the_first_list_has_twenty_four_names_left() -> None:
    """26 names less the two banned by (EU) 2017/1410 and 2021/1902."""
    assert sum(one.status == "old" for one in all_allergens().values()) == 24


def test_forty_five_entries_were_added() -> None:
    """Regulation (EU) 2023/1545 added numbers 327 to 371."""
    new = [one.number for one in all_allergens().values() if one.status == "new"]
    assert new == list(range(327, 372))


def test_every_cas_number_has_its_check_digit() -> None:
    """CAS numbers against python-stdnum."""
    for allergen in all_allergens().values():
        for cas in allergen.cas:
            assert casrn.is_valid(cas), f"{allergen.name} {cas}"


# Upper end of the oil's published range times the dose, by hand.
@pytest.mark.parametrize(
    ("oil", "dose_percent", "expected"),
    [
        # Ph. Eur. 10 lavender oil and ISO 3515 (camphor), in Molecules 2022, 27, 3216 table 2
        (
            "lavender-oil",
            1.5,
            {"Linalool": 0.675, "Linalyl Acetate": 0.705, "Camphor": 0.0225, "Limonene": 0.015},
        ),
        # ISO 4730 tea tree oil, in PMC5516420 table 1
        (
            "tea-tree-oil",
            1.0,
            {"Alpha-Terpinene": 0.13, "Terpinolene": 0.05, "Terpineol": 0.08, "Pinene": 0.06},
        ),
        # Ph. Eur. peppermint oil, textbook page
        ("peppermint-oil", 1.0, {"Menthol": 0.55, "Limonene": 0.05, "Carvone": 0.01}),
    ],
)
def test_the_worked_doses(oil: str, dose_percent: float, expected: dict[str, float]) -> None:
    """Dose times constituent is the share of the bar; exactly 0.01 % is not declarable."""
    found = {
        one.allergen.name: one
        for one in allergens_in({oil: dose_percent}, 100.0, market="eu", on=LATE)
    }
    for name, percent in expected.items():
        assert found[name].percent == pytest.approx(percent)
        assert found[name].due is (percent > 0.01)


def test_the_smallest_dose_that_triggers() -> None:
    """45 % linalool triggers above 0.0222 % of the oil."""
    for dose, due in ((0.0222, False), (0.0223, True)):
        found = allergens_in({"lavender-oil": dose}, 100.0, market="eu", on=LATE)
        linalool = next(one for one in found if one.allergen.name == "Linalool")
        assert linalool.due is due


# Constituents that a monograph does not limit, and that a plain oil holds all the same: the least
# upper end the table may have, %. FROM MEMORY but for eucalyptus (BP limits on a producer's page:
# alpha-pinene 9, beta-pinene 1.5) and camphor in lavender (ISO 3515, read).
@pytest.mark.parametrize(
    ("oil", "name", "at_least"),
    [
        ("lavender-oil", "Beta-Caryophyllene", 5),
        ("lavender-oil", "Geranyl Acetate", 1),
        ("lavender-oil", "Camphor", 1.5),
        ("lavender-oil", "Pinene", 0.3),
        ("lavandin-oil", "Beta-Caryophyllene", 3),
        ("lavandin-oil", "Pinene", 0.5),
        ("peppermint-oil", "Pinene", 2),
        ("peppermint-oil", "Beta-Caryophyllene", 2.5),
        ("peppermint-oil", "Linalool", 0.3),
        ("peppermint-oil", "Terpineol", 0.3),
        ("eucalyptus-oil", "Pinene", 10.5),
        ("eucalyptus-oil", "Terpineol", 1.5),
        ("lemongrass-oil", "Geranyl Acetate", 4),
        ("lemongrass-oil", "Linalool", 1.5),
        ("lemongrass-oil", "Beta-Caryophyllene", 2),
        ("lemongrass-oil", "Citronellol", 0.3),
        ("west-indian-lemongrass-oil", "Geranyl Acetate", 2),
        ("spearmint-oil", "Pinene", 1.5),
        ("spearmint-oil", "Beta-Caryophyllene", 2),
        ("lemon-oil", "Pinene", 19),
        ("lemon-oil", "Terpinolene", 0.4),
        ("rosemary-oil", "Beta-Caryophyllene", 3),
        ("rosemary-oil", "Terpinolene", 0.5),
    ],
)
def test_what_no_monograph_limits_is_counted_too(oil: str, name: str, at_least: float) -> None:
    """Each passes 0.01 % of a bar with 2 % of the oil, so a label without it would be wrong."""
    material = find_material(oil)
    assert material is not None
    assert material.allergen_percent[name] >= Decimal(str(at_least))


def test_no_oil_is_counted_as_more_than_itself() -> None:
    """Upper ends may add to more than 100 %, but no single one may."""
    for material in all_materials().values():
        assert all(percent <= 100 for percent in material.allergen_percent.values()), material.key


def test_a_name_that_means_two_oils_means_none() -> None:
    """Cedarwood is Atlas to one seller and Virginia or Texas to the next: the maker says which."""
    assert find_material("cedarwood") is None
    assert find_material("cedarwood-oil") is None
    with pytest.raises(NotFound, match="cedarwood"):
        name_of("cedarwood-oil", style="eu")
