"""The net-weight statement: forms by market, conversion by the law's own factors, never overstated.

Sources: 16 CFR 500.8-500.9, 500.17-500.19 (factors "and none others"), 500.22; 21 CFR 701.13;
UPLR: a rounded declaration never overstates, the packer may round down. Figures in
tables/law/net_weight.toml.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import ROUND_DOWN, Decimal
from typing import Any

from soapstock.errors import BadInput, BadTable
from soapstock.labelling.law import get_market, market_on
from soapstock.tables import read_toml

OZ_PER_LB = 16
G_PER_KG = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class NetWeight:
    """A declared net weight.

    Attributes:
        g: grams declared, never above what was promised.
        oz: ounces declared (or that would be), never above the same.
        text: the statement, such as `Net Wt 3.98 oz (113 g)`.
        rule, confidence: where its form comes from, and how we know it.
        declares_both: grams and ounces stand on the label, and both bind.
    """

    g: Decimal
    oz: Decimal
    text: str
    rule: str = ""
    confidence: str = ""
    declares_both: bool = False


def factor(name: str) -> Decimal:
    """One of the conversion factors of 16 CFR 500.19(a), such as `g_per_oz`."""
    return Decimal(read_toml("law/net_weight.toml")["factors"][name])


def _down(value: Decimal, figures: int, decimals: int | None = None) -> Decimal:
    """Value rounded down to so many figures (and at most so many decimals)."""
    places = figures - 1 - value.adjusted()
    if decimals is not None:
        places = min(places, decimals)
    places = max(places, 0)
    return value.quantize(Decimal(1).scaleb(-places), rounding=ROUND_DOWN)


def _plain(value: Decimal) -> str:
    text = format(value, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def ounces_down(grams: Decimal) -> Decimal:
    """Ounces of a mass in grams, rounded down; neither factor of the law shows it overstated."""
    rounding = read_toml("law/net_weight.toml")["rounding"]
    figures, decimals = rounding["inch_pound_figures"], rounding["inch_pound_decimals"]
    ounces = _down(grams * factor("oz_per_g"), figures, decimals)
    if ounces * factor("g_per_oz") > grams:  # the two printed factors are not exact inverses
        ounces = _down(ounces - Decimal(1).scaleb(-decimals), figures, decimals)
    return ounces


def _grams_text(grams: Decimal, form: dict[str, Any], figures: int | None) -> str:
    if grams >= Decimal(form["kg_from_g"]):
        kilograms = grams / G_PER_KG
        return f"{_plain(kilograms if figures is None else _down(kilograms, figures))} kg"
    return f"{_plain(grams)} g"


def _pounds(grams: Decimal) -> Decimal:
    rounding = read_toml("law/net_weight.toml")["rounding"]
    exact = grams / factor("g_per_lb")
    return _down(exact, rounding["inch_pound_figures"], rounding["inch_pound_decimals"])


def _dual_text(grams: Decimal, shown_g: Decimal, ounces: Decimal, form: dict[str, Any]) -> str:
    si_figures = read_toml("law/net_weight.toml")["rounding"]["si_figures"]
    si = _grams_text(shown_g, form, si_figures)
    words = form["words"]
    if grams < Decimal(form["pounds_from_g"]):
        return f"{words} {_plain(ounces)} oz ({si})"
    only_from = Decimal(form.get("pounds_only_from_g", form["pounds_from_g"]))
    if form["pounds"] == "decimal" or grams >= only_from:
        return f"{words} {_plain(_pounds(grams))} lb ({si})"
    pounds, rest = divmod(ounces, OZ_PER_LB)
    both = f"{_plain(pounds)} lb {_plain(rest)} oz" if rest else f"{_plain(pounds)} lb"
    return f"{words} {_plain(ounces)} oz ({both}) {si}"


def net_weight(
    declared_g: Decimal, market: str, on: date | None = None, *, bars: int = 1
) -> NetWeight:
    """The net-weight statement of a promised mass.

    In the United States both units are given, each rounded down to three figures, so that neither
    overstates the promise; elsewhere the metric figure stands as promised,
    down to whole grams (tenths below 100 g).

    Args:
        declared_g: mass the label promises for a bar, g, above zero.
        market: market key.
        bars: how many a package holds; the total is so many times what one of them declares, so
            that a buyer who multiplies finds what is printed.
        on: day of the label; when given, it must lie in the market's dates.

    Raises:
        BadInput: unknown market, or a mass that is not above zero.
        NoRuleInForce: the market is not covered on that day.
        BadTable: the tables have no form for the market.
    """
    key = (get_market(market) if on is None else market_on(market, on)).key
    if not declared_g.is_finite() or declared_g <= 0:
        raise BadInput(f"declared weight {declared_g} g is not above zero")
    form = read_toml("law/net_weight.toml")["forms"].get(key)
    if form is None:
        raise BadTable(f"tables/law/net_weight.toml: [forms.{key}] is missing")
    ounces = bars * ounces_down(declared_g)
    if form["dual"]:
        shown_g = _down(declared_g, read_toml("law/net_weight.toml")["rounding"]["si_figures"])
        if shown_g >= G_PER_KG:  # three figures above a kilogram are hundredths of one
            shown_g = _down(declared_g / G_PER_KG, 3) * G_PER_KG
        shown_g *= bars
        text = _dual_text(bars * declared_g, shown_g, ounces, form)
    else:
        decimals = (
            1 if declared_g < read_toml("law/net_weight.toml")["rounding"]["tenths_below_g"] else 0
        )
        shown_g = bars * declared_g.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_DOWN)
        text = f"{form['words']} {_grams_text(shown_g, form, None)}".strip()
    return NetWeight(
        g=shown_g,
        oz=ounces,
        text=text,
        rule=form["citation"],
        confidence=form["confidence"],
        declares_both=form["dual"],
    )


def enforced_g(weight: NetWeight) -> Decimal:
    """The declaration an inspector checks, g: of two the larger (HB 133 s. 2.3.3).

    >>> enforced_g(NetWeight(g=Decimal("454"), oz=Decimal("16"), text="", declares_both=True))
    Decimal('454')
    """
    return max(weight.g, weight.oz * factor("g_per_oz")) if weight.declares_both else weight.g
