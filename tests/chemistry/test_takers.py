"""What takes lye besides the fats.

By molar mass (CIAAW weights): citric acid C6H8O7 192.123 g/mol with three acid hydrogens, NaOH
39.9968, KOH 56.1053. Citric acid monohydrate 210.14 g/mol: USP-NF. Lactic acid: USP 35, 88 to 92 %.
"""

from __future__ import annotations

import pytest

from soapstock.chemistry import molar
from soapstock.chemistry.fats import get_fat
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.liquids import liquids
from soapstock.chemistry.lye import FatPortion, Lye, lye_demand, superfat_percent
from soapstock.chemistry.takers import added_acids, lye_takers, reacting_portion, takes_lye
from soapstock.labelling.names import find_material


def naoh_g(key: str, mass_g: float) -> tuple[float, float, float]:
    """NaOH that an addition takes, g: least, usual, most."""
    found = lye_demand(lye_takers({key: mass_g}))
    return found.low * molar.NAOH, found.nominal * molar.NAOH, found.high * molar.NAOH


def test_a_gram_of_citric_acid_takes_624_mg_of_lye() -> None:
    """3 x 39.9968 / 192.123 = 0.6245; as monohydrate 3 x 39.9968 / 210.14 = 0.5710."""
    low, usual, high = naoh_g("citric-acid", 1.0)
    assert usual == pytest.approx(3 * 39.9968 / 192.123, abs=1e-5)
    assert round(usual, 4) == 0.6245
    assert low == pytest.approx(0.5710, abs=2e-4)
    assert high == usual


def test_a_gram_of_lactic_acid_takes_its_strength() -> None:
    """USP 35: 88.0 to 92.0 % of 39.9968 / 90.078 = 0.4440."""
    low, usual, high = naoh_g("lactic-acid", 1.0)
    assert (low, usual, high) == pytest.approx(
        (0.88 * 0.44402, 0.90 * 0.44402, 0.92 * 0.44402), abs=1e-4
    )


def test_milk_takes_lye_by_its_fat() -> None:
    """200 g goat milk of 3.9 % fat (FAO 2013, Table 3.1): 7.8 g butterfat at 221.5 mg KOH/g."""
    low, usual, high = naoh_g("goat-milk", 200.0)
    assert usual == pytest.approx(200 * 0.039 * 221.5 / 1000 * 39.9968 / 56.1053, rel=1e-5)
    assert low == pytest.approx(200 * 0.033 * 210 / 1000 * 39.9968 / 56.1053, rel=1e-5)
    assert high == pytest.approx(200 * 0.045 * 233 / 1000 * 39.9968 / 56.1053, rel=1e-5)


def test_coconut_milk_holds_what_the_standard_lets_it_hold() -> None:
    """Codex CXS 240-2003, 3.1: fat at least 10 %; solids at most 25.3 %, 2.7 of them not fat."""
    fat = liquids()["coconut-milk"].fat_percent
    assert (fat.low, fat.high) == pytest.approx((10.0, 25.3 - 2.7))
    assert fat.nominal == pytest.approx((10.0 + 22.6) / 2)


@pytest.mark.parametrize("key", ["olive", "sea-salt", "honey", "tea", "beer"])
def test_the_rest_takes_none(key: str) -> None:
    """Fats stand among the fats; sugars, salt and beer are no acids."""
    assert not takes_lye(key)
    assert lye_takers({key: 100.0}) == ()


@pytest.mark.parametrize("key", ["citric-acid", "lactic-acid", "goat-milk", "coconut-milk"])
def test_the_lye_sum_and_the_composition_count_the_same(key: str) -> None:
    """One figure in the superfat, another in the pot would contradict each other."""
    sum_of = lye_demand(lye_takers({key: 250.0})).nominal
    assert lye_demand([reacting_portion(key, 250.0)]).nominal == pytest.approx(sum_of, rel=1e-9)


def test_citric_acid_raises_the_superfat_of_olive_by_nine_points() -> None:
    """1 kg olive at 5 %, 20 g citric acid: 12.49 g of 135.4 g NaOH, so 5.0 % turns to 13.0 %.

    (1 - 0.95 x d / (d + c)) with d = 190 x 0.712888 = 135.45 g and c = 12.49 g NaOH.
    """
    olive = FatPortion(fat="olive", mass_g=1000.0, sv=get_fat("olive").sv)
    demand, citric = 190 * 39.9968 / 56.1053, 20 * 3 * 39.9968 / 192.123
    lye = Lye(naoh_g=0.95 * demand, naoh_assay_percent=PURE, koh_assay_percent=PURE)
    found = superfat_percent([olive, *lye_takers({"citric-acid": 20.0})], lye)
    assert superfat_percent([olive], lye).nominal == pytest.approx(5.0, abs=1e-3)
    assert found.nominal == pytest.approx(100 * (1 - 0.95 * demand / (demand + citric)), abs=0.01)
    assert found.nominal == pytest.approx(13.0, abs=0.05)


PURE = Interval.exact(100.0)


@pytest.mark.parametrize("key", sorted(added_acids()))
def test_every_acid_and_its_sodium_salt_have_label_names(key: str) -> None:
    """The finished soap lists the salt, the poured list the acid."""
    assert find_material(key) is not None
    assert find_material(added_acids()[key].sodium) is not None
