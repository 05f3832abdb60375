"""Linear barcodes before they are on paper."""

from __future__ import annotations

from datetime import date

import pytest

from soapstock.errors import BadInput
from soapstock.render.pdf.barcode import codes_for, encode


def test_a_retail_code_is_95_modules_wide() -> None:
    """EAN-13 and UPC-A: 3 + 42 + 5 + 42 + 3 modules (ISO/IEC 15420)."""
    assert encode("retail", "6291041500213").modules == 95
    assert encode("retail", "012345678905").modules == 95


def test_codes_of_a_bar_come_from_its_gtin_lot_and_date() -> None:
    """Thirteen digits stay thirteen, a GTIN with two leading zeros is a UPC-A of twelve."""
    codes = codes_for("6291041500213", "DRF26329AK", date(2028, 5, 25))
    assert codes["retail"] == "6291041500213"
    assert codes["gs1_128"] == "(01)06291041500213(15)280525(10)DRF26329AK"
    assert codes_for("012345678905", "DRF26329AK")["retail"] == "012345678905"


def test_a_cases_gtin_is_not_put_on_a_bar() -> None:
    """A GTIN-14 with an indicator digit names a case."""
    with pytest.raises(BadInput, match="case"):
        codes_for("12345678901231", "DRF26329AK")


def test_another_barcode_is_refused() -> None:
    """Eleven digits are no retail code."""
    with pytest.raises(BadInput, match="cannot be drawn"):
        encode("retail", "01234567890")
