"""Reading lot codes from typed, scanned and linked text."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.codes.gs1 import element_string
from soapstock.codes.lot import make_lot_code
from soapstock.codes.reading import qr_text, read_code
from soapstock.errors import BadInput, SoapstockError

LOT = make_lot_code("DRF", date(2026, 11, 25))
GTIN = "6291041500213"
GS = "\x1d"


@pytest.mark.parametrize(
    "text",
    [
        LOT,
        LOT.lower() + "\r\n",
        "DRF-26329-A1",
        " drf 26329 a1 ",
        "DRF–26329–A1",
        "]Q1" + LOT,
        "\ufeff" + LOT,
        f"https://soap.example/lot/{LOT}",
        f"HTTPS://SOAP.EXAMPLE/lot/{LOT.lower()}/",
        f"soap.example/lot/{LOT}",
        f"https://id.gs1.org/01/06291041500213/10/{LOT}",
        f"https://soap.example/shop/01/06291041500213/10/{LOT}?15=280525#top",
        f"(01)06291041500213(15)280525(10){LOT}",
        f"]d20106291041500213152805251\x30{LOT}",
        f"]C110{LOT}{GS}0106291041500213",
        f"]Q3{GS}010629104150021310{LOT}{GS}21778",
        f"010629104150021310{LOT}",
        f"{GS}010629104150021310{LOT}\r",
        f"]d20106291041500213310300011310{LOT}",
    ],
)
def test_every_usual_form_gives_the_same_lot(text: str) -> None:
    """Typed, linked, bracketed and raw scanner forms all read as the compact lot code."""
    assert read_code(text) == LOT


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "no code given"),
        ("\r\n", "no code given"),
        ("DRF26329A2", "check character"),
        ("https://soap.example/", "holds no lot code"),
        ("https://[/lot/DRF26329A1", "holds no lot code"),
        ("https://id.gs1.org/01/06291041500213", "holds no lot code"),
        ("(01)06291041500213", "names a product but no lot"),
        ("0106291041500213", "names a product but no lot"),
        ("A" * 5000, "far too long"),
        (f"https://id.gs1.org/01/06291041500213/10/{LOT[:-1]}Z", "check character"),
        ("]d2", "not a lot code|cut short|no lot"),
    ],
)
def test_what_holds_no_sound_lot_is_refused_in_plain_words(text: str, says: str) -> None:
    """Each wrong text says what is the matter."""
    with pytest.raises(BadInput, match=says):
        read_code(text)


@pytest.mark.parametrize(
    ("web", "gtin", "expected"),
    [
        (None, None, LOT),
        ("soap.example", None, f"https://soap.example/lot/{LOT}"),
        (None, GTIN, f"https://id.gs1.org/01/06291041500213/10/{LOT}"),
        ("soap.example", GTIN, f"https://soap.example/01/06291041500213/10/{LOT}"),
    ],
)
def test_the_qr_text_suits_what_the_shop_has_and_reads_back(
    web: str | None, gtin: str | None, expected: str
) -> None:
    """Lot code, plain link or Digital Link; all read back as the lot."""
    assert qr_text(LOT, web, gtin) == expected
    assert read_code(expected) == LOT


def test_the_element_strings_we_write_read_back() -> None:
    """What gs1.element_string writes, read_code reads."""
    assert read_code(element_string(GTIN, LOT, date(2028, 5, 25))) == LOT
    assert read_code(element_string(GTIN, LOT, date(2028, 5, 25), bracketed=False)) == LOT


@given(st.text(max_size=60))
def test_any_text_gives_a_lot_or_one_clear_error(text: str) -> None:
    """Whatever is scanned, the answer is a lot code or one of our errors, never a crash."""
    try:
        answer = read_code(text)
    except SoapstockError as error:
        answer = error.message
    assert answer
