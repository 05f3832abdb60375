"""GS1 check digits, element strings and links."""

from __future__ import annotations

from datetime import date

import pytest

from soapstock.codes.gs1 import (
    check_digit,
    digital_link,
    element_string,
    lot_link,
    parse_element_string,
    validate_gtin,
    web_root,
)
from soapstock.errors import BadInput

GTIN = "6291041500213"


def test_a_gtin_comes_back_in_fourteen_digits() -> None:
    """GTINs of every length are zero-filled at left; hyphens and spaces are dropped."""
    assert validate_gtin("6 291041-500213") == "06291041500213"


@pytest.mark.parametrize(
    "text", ["", "629104150021", "6291041500214", "62910415002133", "abc", "٠٦٢٩١٠٤١٥٠٠٢١٣"]
)
def test_a_bad_gtin_is_refused(text: str) -> None:
    """Wrong length, check digit or characters raise BadInput."""
    with pytest.raises(BadInput):
        validate_gtin(text)


def test_a_check_digit_needs_digits() -> None:
    """Letters raise BadInput."""
    with pytest.raises(BadInput, match="not all digits"):
        check_digit("12A")


@pytest.mark.parametrize("best_before", [None, date(2028, 5, 25)])
@pytest.mark.parametrize("bracketed", [True, False])
def test_an_element_string_is_read_back(best_before: date | None, bracketed: bool) -> None:
    """GTIN, date and lot survive writing and reading in both forms."""
    text = element_string(GTIN, "DRF26329A1", best_before, bracketed=bracketed)
    found = parse_element_string(text)
    assert (found["01"], found["10"]) == ("06291041500213", "DRF26329A1")
    assert found.get("15") == ("280525" if best_before else None)


@pytest.mark.parametrize(
    "text", ["(01)", "(x)1", "(01)06291041500213junk(", "99123", "0106291041", "10"]
)
def test_a_broken_element_string_is_refused(text: str) -> None:
    """Unknown identifiers and cut values raise BadInput."""
    with pytest.raises(BadInput):
        parse_element_string(text)


@pytest.mark.parametrize("lot", ["", "A B", "A" * 21, "A#"])
def test_a_lot_that_ai_10_cannot_carry_is_refused(lot: str) -> None:
    """Empty, long, or foreign characters raise BadInput."""
    with pytest.raises(BadInput):
        digital_link(None, GTIN, lot)


@pytest.mark.parametrize(
    ("web", "root"),
    [
        ("soap.example", "https://soap.example"),
        ("http://soap.example/", "http://soap.example"),
        (" https://soap.example/shop/ ", "https://soap.example/shop"),
    ],
)
def test_a_web_address_gets_its_scheme_and_loses_its_slash(web: str, root: str) -> None:
    """web_root normalises what a maker types."""
    assert web_root(web) == root


@pytest.mark.parametrize(
    "web", ["", "https://[", "ftp://x.example", "a b", "https://x.example/?q=1", "x#y"]
)
def test_what_is_no_web_address_is_refused(web: str) -> None:
    """Other schemes, blanks, queries and fragments raise BadInput."""
    with pytest.raises(BadInput):
        web_root(web)


def test_a_plain_link_names_the_lot() -> None:
    """A shop with a site but no GTIN gets /lot/CODE."""
    assert lot_link("soap.example", "DRF26329A1") == "https://soap.example/lot/DRF26329A1"
