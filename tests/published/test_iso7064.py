"""ISO/IEC 7064 MOD 37,36 against python-stdnum and a published vector.

Sources: python-stdnum 2.x, module stdnum.iso7064.mod_37_36, an independent implementation; the pair
123AB -> X from an identifier library's test set (facts/united-states.md section 6.5, READ-2).
"""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_36

from soapstock.codes.iso7064 import ALPHABET, check_character, is_valid
from soapstock.codes.lot import make_lot_code

payloads = st.text(ALPHABET, min_size=1, max_size=24)


def test_the_published_vector() -> None:
    """123AB takes X."""
    assert check_character("123AB") == "X"


@given(payloads)
def test_check_characters_agree_with_the_reference_library(payload: str) -> None:
    """Any payload gets the reference library's check character."""
    assert check_character(payload) == mod_37_36.calc_check_digit(payload)


@given(payloads)
def test_verdicts_agree_with_the_reference_library(code: str) -> None:
    """Any code, right or wrong, gets the reference library's verdict."""
    if len(code) > 1:
        assert is_valid(code) == mod_37_36.is_valid(code)


@pytest.mark.parametrize("product", ["DRF", "SAM", "EB", "LANT"])
def test_lot_codes_pass_the_reference_library(product: str) -> None:
    """The lot codes we hand out are valid MOD 37,36 codes."""
    assert mod_37_36.is_valid(make_lot_code(product, date(2026, 11, 25), "B"))
