"""Lot codes: making, reading, offering near ones."""

from __future__ import annotations

import string
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.codes.lot import (
    POUR_LETTERS,
    format_code,
    ingredient_prefix,
    is_valid,
    make_lot_code,
    near_codes,
    next_letter,
    validate,
)
from soapstock.errors import BadInput, RuleBroken

DAY = date(2026, 11, 25)
products = st.text(string.ascii_uppercase, min_size=2, max_size=4)
days = st.dates(date(2000, 1, 1), date(2099, 12, 31))
letters = st.sampled_from(string.ascii_uppercase)


@given(products, days, letters)
def test_a_code_splits_back_into_what_it_was_made_of(product: str, day: date, letter: str) -> None:
    """A code that was made and read again has its product and day, hyphens or not."""
    code = make_lot_code(product, day, letter)
    for text in (code, format_code(code), format_code(code).lower()):
        found = validate(text)
        assert (found.product, found.day) == (product, day)
        assert (found, found.shown) == (code, format_code(code))


@given(st.lists(st.tuples(days, letters), min_size=2, max_size=5))
def test_codes_of_all_products_sort_by_their_turn(made: list[tuple[date, str]]) -> None:
    """The turn of a code orders pours by day and letter, whatever their product."""
    codes = [make_lot_code("ZX"[: 2 - n % 2] + "A", *one) for n, one in enumerate(made)]
    assert [c.day for c in sorted(codes, key=lambda c: c.turn)] == sorted(d for d, _ in made)


def test_the_day_is_the_ordinal_date_of_the_pour() -> None:
    """25 November 2026 is day 329 of the year, so the code reads 26329."""
    assert make_lot_code("DRF", DAY)[:9] == "DRF26329A"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "not a lot code"),
        ("hello", "not a lot code"),
        ("DRF26329A", "not a lot code"),
        ("DRF26329A2", "check character '2'"),
        ("DFR26329A1", "check character"),
        ("DRF26329A1; drop", "not a lot code"),
    ],
)
def test_a_wrong_code_is_refused_and_told_why(text: str, says: str) -> None:
    """The message tells a wrong form from a wrong check character."""
    with pytest.raises(BadInput, match=says):
        validate(text)


@pytest.mark.parametrize(("code", "good"), [("26366", False), ("28366", True), ("26000", False)])
def test_the_day_must_exist_in_its_year(code: str, good: bool) -> None:
    """Day 366 is right in a leap year only, and there is no day 0."""
    from soapstock.codes.iso7064 import check_character

    text = f"DRF{code}A"
    assert is_valid(text + check_character(text)) is good


@pytest.mark.parametrize(
    ("product", "day", "letter"),
    [
        ("D", DAY, "A"),
        ("DRIFT", DAY, "A"),
        ("D1", DAY, "A"),
        ("DRF", DAY, "AB"),
        ("DRF", DAY, ""),
        ("DRF", date(1999, 12, 31), "A"),
        ("DRF", date(2100, 1, 1), "A"),
    ],
)
def test_a_code_that_could_not_be_read_back_is_not_made(
    product: str, day: date, letter: str
) -> None:
    """Bad product, letter or century raise BadInput."""
    with pytest.raises(BadInput):
        make_lot_code(product, day, letter)


def test_a_mistyped_code_brings_the_meant_lot_first() -> None:
    """A swap, a look-alike or a lost character still finds its lot among many."""
    existing = [make_lot_code(p, date(2026, 10, d)) for p in ("DRF", "SAM", "EBB") for d in (1, 9)]
    meant = existing[0]
    swapped = meant[1] + meant[0] + meant[2:]
    lost = meant[:5] + meant[6:]
    alike = meant.replace("6", "G", 1)
    assert [near_codes(text, existing)[0] for text in (swapped, lost, alike)] == [meant] * 3


def test_nothing_like_it_offers_nothing() -> None:
    """A text that resembles no lot brings no offers."""
    assert near_codes("9781", [make_lot_code("DRF", DAY)]) == []


def test_at_most_n_lots_are_offered() -> None:
    """near_codes keeps to the number asked for."""
    existing = [make_lot_code("DRF", DAY, letter) for letter in "ABCDEF"]
    assert len(near_codes("DRF26329", existing, n=2)) == 2


@pytest.mark.parametrize(
    ("key", "prefix"),
    [("beef-tallow", "BEE"), ("olive", "OLI"), ("e-o", "EOX"), ("", "XXX"), ("naoh", "NAO")],
)
def test_an_ingredient_prefix_is_always_three_letters(key: str, prefix: str) -> None:
    """The first three letters of the key, filled with X."""
    assert ingredient_prefix(key) == prefix


def test_a_soap_and_its_oil_do_not_look_alike() -> None:
    """A recipe of the same three letters makes the ingredient's four."""
    assert ingredient_prefix("lavender-oil", {"LAV"}) == "LAVE"
    assert ingredient_prefix("lavender-oil", {"LAVE"}) == "LAV"


def test_pour_letters_run_without_those_that_pass_for_digits() -> None:
    """The letters of a day come in order, skip I and O, ignore other days, and end after 24."""
    existing = [make_lot_code("DRF", date(2026, 11, 24)), make_lot_code("DRFT", DAY)]
    given_out = []
    for _ in POUR_LETTERS:
        given_out.append(next_letter(existing, "DRF", DAY))
        existing.append(make_lot_code("DRF", DAY, given_out[-1]))
    assert "".join(given_out) == POUR_LETTERS
    with pytest.raises(RuleBroken, match="24 lot letters"):
        next_letter(existing, "DRF", DAY)
