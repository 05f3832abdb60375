"""GS1 check digits, element strings and Digital Link against published vectors.

Sources: GS1 Hong Kong, check-digit page (worked example 629104150021 -> 3); GS1 Barcode Syntax
Dictionary, reference checks, snapshot 27 Jul 2026 (pass and fail vectors); GS1 Digital Link toolkit
documentation, Feb 2024 (lot with reserved characters); python-stdnum 2.x, stdnum.ean and
stdnum.gs1_128, independent implementations.
"""

from __future__ import annotations

from contextlib import nullcontext
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum import ean, gs1_128

from soapstock.codes.gs1 import (
    check_digit,
    digital_link,
    element_string,
    parse_element_string,
    validate_gtin,
)
from soapstock.errors import BadInput


def test_the_worked_example() -> None:
    """GS1 Hong Kong: 629104150021 takes 3."""
    assert check_digit("629104150021") == "3"


@pytest.mark.parametrize(
    ("gtin", "good"),
    [
        ("02345673", True),
        ("12345678901231", True),
        ("05412345000013", True),
        ("12345673", False),
        ("12345678901232", False),
    ],
)
def test_the_reference_vectors(gtin: str, good: bool) -> None:
    """GS1 Barcode Syntax Dictionary reference checks."""
    with nullcontext() if good else pytest.raises(BadInput):
        validate_gtin(gtin)


@given(st.text("0123456789", min_size=12, max_size=12))
def test_check_digits_agree_with_the_reference_library(digits: str) -> None:
    """Any 12 digits get the reference library's EAN check digit."""
    assert check_digit(digits) == ean.calc_check_digit(digits)


def test_reserved_characters_of_a_lot_are_percent_encoded() -> None:
    """Toolkit documentation: lot ABC&+123 of 05412345000013 on the canonical host."""
    assert (
        digital_link(None, "05412345000013", "ABC&+123")
        == "https://id.gs1.org/01/05412345000013/10/ABC%26%2B123"
    )


def test_the_reference_library_reads_our_element_string() -> None:
    """stdnum.gs1_128 finds the GTIN, date and lot we wrote."""
    text = element_string("6291041500213", "DRF26329A1", date(2028, 5, 25))
    found = gs1_128.info(text)
    assert (found["01"], found["10"], found["15"]) == (
        "06291041500213",
        "DRF26329A1",
        date(2028, 5, 25),
    )


def test_we_read_the_published_bracketed_sample() -> None:
    """Toolkit documentation sample, the part with identifiers of our table."""
    found = parse_element_string("(3103)000189(01)05412345000013(3923)2172(10)ABC&+123")
    assert (found["01"], found["10"], found["3103"]) == ("05412345000013", "ABC&+123", "000189")
