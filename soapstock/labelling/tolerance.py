"""How far short one package may be: MAV (United States) and TNE (European Union, United Kingdom).

Sources: NIST Handbook 133 Table 2-5 (tables/law/mav.csv); Directive 76/211/EEC Annex I 2.4 and
S.I. 2006/659 (tables/law/tolerance.toml), a percentage rounded up to the next 0.1 g.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from functools import cache

from soapstock.errors import BadInput
from soapstock.labelling.law import get_market
from soapstock.labelling.netweight import factor
from soapstock.tables import read_csv, read_toml

MAV_COLUMNS = ("up_to_lb", "up_to_g", "mav_lb", "mav_oz", "mav_g", "percent", "confidence")
TABLE = "law/tolerance.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """Most that one package may be short, g, and where that figure stands."""

    g: Decimal
    because: str
    citation: str
    confidence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _MavRow:
    up_to_lb: Decimal | None
    g: Decimal | None
    percent: Decimal | None
    confidence: str


@cache
def _mav_rows() -> tuple[_MavRow, ...]:
    def number(text: str) -> Decimal | None:
        return Decimal(text) if text else None

    return tuple(
        _MavRow(
            up_to_lb=number(row["up_to_lb"]),
            g=number(row["mav_g"]),
            percent=number(row["percent"]),
            confidence=row["confidence"],
        )
        for row in read_csv("law/mav.csv", MAV_COLUMNS)
    )


def _mav_row(pounds: Decimal) -> _MavRow:
    rows = _mav_rows()
    first = rows[0]
    if first.up_to_lb is not None and pounds < first.up_to_lb:
        return first
    for row in rows[1:]:
        if row.up_to_lb is None or pounds <= row.up_to_lb:
            return row
    return rows[-1]


def _refuse_nothing(label_g: Decimal) -> None:
    if not label_g.is_finite() or label_g <= 0:
        raise BadInput(f"labelled weight {label_g} g is not above zero")


def mav_g(label_g: Decimal) -> Tolerance:
    """Maximum allowable variation of a package labelled by weight.

    The rows' bounds in pounds are used, the printed gram bounds being rounded from them.

    Args:
        label_g: labelled weight, g; of two declarations the larger.

    Raises:
        BadInput: weight not above zero.
    """
    _refuse_nothing(label_g)
    pounds = label_g / factor("g_per_lb")
    row = _mav_row(pounds)
    said = f"label {label_g.normalize():f} g = {pounds:.4f} lb"
    if row.percent is not None:
        grams, because = label_g * row.percent / 100, f"{said}: {row.percent} % of it"
    else:
        grams = row.g or Decimal(0)
        because = f"{said}: row up to {row.up_to_lb} lb, {grams} g"
    return Tolerance(
        g=grams,
        because=because,
        citation="NIST Handbook 133 Table 2-5",
        confidence=row.confidence,
    )


def tne_g(nominal_g: Decimal, market: str) -> Tolerance:
    """Tolerable negative error of a nominal quantity; a percentage is rounded up to 0.1 g.

    Args:
        nominal_g: nominal quantity, g; 5 g to 10 kg, or to the market's own top.
        market: market key.

    Raises:
        BadInput: quantity outside the system.
    """
    _refuse_nothing(nominal_g)
    table = read_toml(TABLE)["tne"]
    top = get_market(market).tne_most_g or Decimal(table["max_g"])
    if not Decimal(table["min_g"]) <= nominal_g <= top:
        raise BadInput(
            f"nominal quantity {nominal_g} g is outside the average system",
            hint=f"it covers {table['min_g']} g to {top} g",
        )
    band = next(
        one
        for one in table["bands"]
        if "up_to_g" not in one or nominal_g <= Decimal(one["up_to_g"])
    )
    if "g" in band:
        grams, because = Decimal(band["g"]), f"band up to {band['up_to_g']} g: {band['g']} g"
    else:
        raw = nominal_g * Decimal(band["percent"]) / 100
        step = Decimal(table["round_up_g"])
        grams = (raw / step).to_integral_value(rounding=ROUND_CEILING) * step
        because = f"{band['percent']} % = {raw.normalize():f} g, up to the next {step} g"
    return Tolerance(
        g=grams, because=because, citation=table["citation"], confidence=table["confidence"]
    )
