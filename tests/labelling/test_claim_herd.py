"""Herd claims are answered from the record of each lot, and from nothing else.

What must be provable: Regulation (EU) No 655/2013 Annex, 3 (evidence), 2013; 15 USC 45. The lots
are invented.
"""

import pytest

from soapstock.chemistry.fats import all_fats
from soapstock.labelling.claim_herd import AnimalLot, answer_herd, is_of_animals
from soapstock.labelling.claims import check_claims
from soapstock.labelling.names import all_materials
from soapstock.tables import read_toml

HITS = check_claims("100 % grass-fed", "us-soap")


def lot(*record: str, supplier: str = "") -> AnimalLot:
    """A lot of mutton tallow with that on record."""
    return AnimalLot(
        lot_code="MUT-26240-A1", ingredient="mutton tallow", supplier=supplier, record=record
    )


@pytest.mark.parametrize(
    ("record", "answer"),
    [
        ((), "nothing is on record of its animals"),
        (("ewe 14",), "its record does not say so, it says 'ewe 14'"),
        (("twelve ewes, Grass fed",), "its record says so: 'twelve ewes, Grass fed'"),
        (("ewe 14", "grassfed"), "its record says so: 'ewe 14; grassfed'"),
        (("not grass-fed in winter",), "its record denies it: 'not grass-fed in winter'"),
        (("pasture-raised",), "its record does not say so, it says 'pasture-raised'"),
    ],
)
def test_a_lot_is_answered_by_its_own_record(record: tuple[str, ...], answer: str) -> None:
    """Said, denied, something else, or nothing: as written, with or without a hyphen."""
    told = answer_herd(HITS, [lot(*record)])
    assert told == (f"'grass-fed': MUT-26240-A1 (mutton tallow): {answer}.",)


def test_the_supplier_is_named() -> None:
    """Whom to ask."""
    assert (
        "(mutton tallow, from Lowmarsh Farm)"
        in answer_herd(HITS, [lot(supplier="Lowmarsh Farm")])[0]
    )


def test_a_batch_without_animals_says_so() -> None:
    """A bar of olive oil alone cannot be grass-fed."""
    assert answer_herd(HITS, []) == (
        "'grass-fed': no lot of animal fat or milk is on record in this batch.",
    )


def test_other_claims_are_not_answered_from_the_ledger() -> None:
    """Only what is said of the herd."""
    assert answer_herd(check_claims("Vegan, treats acne", "us-soap"), [lot()]) == ()


def test_the_animal_ingredients_are_known_ones() -> None:
    """Each key of the table is a fat or a material of the program's own tables."""
    keys = read_toml("law/claims.toml")["animals"]["ingredients"]
    assert set(keys) <= set(all_fats()) | set(all_materials())
    assert is_of_animals("lard")
    assert not is_of_animals("olive")
