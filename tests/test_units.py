"""The only place a quantity changes unit."""

from __future__ import annotations

import ast
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import soapstock
from soapstock.errors import BadInput
from soapstock.units import (
    format_g,
    g_from_mg,
    mg_from_g,
    parse_length_mm,
    parse_mass_g,
    parse_temperature_c,
    parse_volume_ml,
    round_to_step,
)

GRAMS = st.integers(min_value=0, max_value=10**9).map(lambda n: Decimal(n) / 1000)


@given(GRAMS)
def test_grams_to_milligrams_and_back_is_identity(grams: Decimal) -> None:
    """Whole milligrams lose nothing."""
    assert g_from_mg(mg_from_g(grams)) == grams


@given(GRAMS)
def test_what_is_shown_is_read_back(grams: Decimal) -> None:
    """format_g and parse_mass_g are inverse to the milligram."""
    assert parse_mass_g(format_g(grams)) == grams


@pytest.mark.parametrize(
    ("text", "grams"),
    [
        ("1320g", "1320"),
        ("1.32 kg", "1320"),
        ("1 lb", "453.59237"),  # 1959 international agreement (value from memory)
        ("1lb 4oz", "566.9904625"),
        ("4 OZ", "113.3980925"),
        ("350mg", "0.35"),
    ],
)
def test_masses_are_exact(text: str, grams: str) -> None:
    """Every unit converts exactly."""
    assert parse_mass_g(text) == Decimal(grams)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "g",
        "5",
        "5 stone",
        "-5g",
        "1,5 g",
        "nan g",
        "inf kg",
        "1e9 kg",
        "5 gg",
        "1..2 g",
        "٣ g ",
        "5g five",
    ],
)
def test_what_is_no_mass_is_refused(text: str) -> None:
    """Anything unclear is refused, never guessed."""
    with pytest.raises(BadInput):
        parse_mass_g(text)


@given(st.text(max_size=80))
def test_any_text_is_a_mass_or_bad_input(text: str) -> None:
    """No text crashes the reader."""
    try:
        grams = parse_mass_g(text)
    except BadInput:
        return
    assert grams >= 0


def test_lengths_and_volumes() -> None:
    """An inch is 25.4 mm exactly (16 CFR 500.19)."""
    assert parse_length_mm("3.5 in") == Decimal("88.9")
    assert parse_volume_ml("1.8 l") == Decimal(1800)


@pytest.mark.parametrize(("text", "celsius"), [("100F", 37.7778), ("38 °C", 38.0), ("-10c", -10.0)])
def test_temperatures(text: str, celsius: float) -> None:
    """C = (F - 32) / 1.8 (NIST HB 133 App. E)."""
    assert parse_temperature_c(text) == pytest.approx(celsius, abs=1e-3)


def test_a_temperature_needs_its_scale() -> None:
    """38 alone could be either."""
    with pytest.raises(BadInput):
        parse_temperature_c("38")


@given(GRAMS, st.sampled_from([Decimal("0.1"), Decimal(1), Decimal(2), Decimal(5)]))
def test_rounding_moves_at_most_half_a_step(grams: Decimal, step: Decimal) -> None:
    """A rounded mass is a whole number of steps, and near."""
    rounded = round_to_step(grams, step)
    assert rounded % step == 0
    assert abs(rounded - grams) <= step / 2


THOUSANDS = {"ledger/base/engine.py", "render/pdf/text.py", "cure/prior.py", "chemistry/setting.py"}


def test_masses_change_their_unit_in_units_alone() -> None:
    """No file but units divides or multiplies by a thousand; the four told do so with no mass."""
    package = Path(soapstock.__file__).parent
    found = set()
    for path in package.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Div | ast.Mult):
                sides = {getattr(side, "value", None) for side in (node.left, node.right)}
                if sides & {1000, 1e-3}:
                    found.add(path.relative_to(package).as_posix())
    assert found == THOUSANDS | {"units.py"}
