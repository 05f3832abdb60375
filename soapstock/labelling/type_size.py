"""Minimum type heights and the place of the net weight, for the room that draws labels.

Sources: 16 CFR 500.20-500.21, 21 CFR 701.3, 701.10, 701.13, 740.2; Directive 76/211/EEC Annex I;
CPLR C.R.C. c. 417 s. 14. Rows in tables/law/type_height.toml. A boundary belongs to the lower step.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from soapstock.errors import BadInput, BadTable
from soapstock.labelling.law import NoRuleInForce, market_on
from soapstock.labelling.netweight import factor
from soapstock.tables import read_toml

TABLE = "law/type_height.toml"
SUBJECTS = ("net_weight", "ingredients", "warnings", "mail_order_notice", "e_mark", "other")
ALSO = {"precautions": "warnings"}


@dataclass(frozen=True, slots=True, kw_only=True)
class TypeRule:
    """The least height of one statement's letters.

    Attributes:
        min_mm: least height, mm.
        measured: which letter is measured.
        because: the row of the table, in words.
        citation, confidence: where it stands, and how we know it.
        by_law: False when the law names no figure and our own floor stands in.
    """

    min_mm: float
    measured: str
    because: str
    citation: str
    confidence: str
    by_law: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """Where the net weight stands on the principal display panel.

    Attributes:
        bottom_fraction: it lies within this lowest part of the panel, 0-1; None when anywhere.
        clear_above_below_heights: clear space above and below, in heights of its lettering.
        clear_sides_n_widths: clear space left and right, in widths of the letter N.
        bold, parallel_to_base: whether asked for.
        citation, confidence: where it stands, and how we know it.
    """

    bottom_fraction: float | None
    clear_above_below_heights: float
    clear_sides_n_widths: float
    bold: bool
    parallel_to_base: bool
    citation: str
    confidence: str


def _starts(row: dict[str, Any], day: date) -> bool:
    starts: date = row["from"]
    return starts <= day and ("until" not in row or day <= row["until"])


def _rows(kind: str, market: str, day: date, what: str | None = None) -> list[dict[str, Any]]:
    return [
        row
        for row in read_toml(TABLE)[kind]
        if market in row["markets"] and (what is None or row["what"] == what) and _starts(row, day)
    ]


def square_inches(area_cm2: float) -> Decimal:
    """Square inches of an area in cm2, exact by 16 CFR 500.19: 1 sq in = 6.4516 cm2."""
    return Decimal(repr(float(area_cm2))) / factor("sq_cm_per_sq_in")


def _measure(
    by: str, panel_area_cm2: float | None, nominal_g: float | Decimal | None
) -> tuple[Decimal, str]:
    if by == "none":
        return Decimal(0), ""
    if by == "nominal_g":
        if nominal_g is None:
            raise BadInput("the type height goes by the nominal quantity, which was not given")
        grams = Decimal(str(nominal_g))
        return grams, f"nominal {grams.normalize():f} g"
    if panel_area_cm2 is None or panel_area_cm2 <= 0:
        raise BadInput("the type height goes by the panel's area, which was not given")
    if by == "area_cm2":
        return Decimal(repr(float(panel_area_cm2))), f"panel {panel_area_cm2:.1f} cm2"
    inches = square_inches(panel_area_cm2)
    return inches, f"panel {inches:.2f} sq in"


def _step(rule: dict[str, Any], measure: Decimal) -> dict[str, Any]:
    for step in rule["steps"]:
        if "below" in step:
            if measure < Decimal(step["below"]):
                return dict(step)
        elif "up_to" not in step or measure <= Decimal(step["up_to"]):
            return dict(step)
    raise BadTable(f"tables/{TABLE}: {rule['citation']} has no last step")


def type_rule(
    market: str,
    on_date: date,
    *,
    panel_area_cm2: float | None = None,
    nominal_g: float | Decimal | None = None,
    what: str = "net_weight",
    required: bool = True,
) -> TypeRule:
    """The type-height rule of one statement.

    Args:
        market: market key.
        on_date: day of the label.
        panel_area_cm2: area of the PACKAGE's principal display panel, cm2 (for `ingredients`: of
            the whole surface there is for labelling).
        nominal_g: declared net weight, g (EU and UK go by it).
        what: one of SUBJECTS, or any other statement's kind, which counts as `other`.
        required: whether the market asks for the statement; `other` heights bind only those.

    Raises:
        BadInput: unknown market, or the measure the rule goes by is missing.
        NoRuleInForce: the market has no net-weight rule on that day.
    """
    market_on(market, on_date)
    subject = what if what in SUBJECTS else ALSO.get(what, "other")
    rows = [] if subject == "other" else _rows("rules", market, on_date, subject)
    if not rows and subject != "net_weight" and required:
        rows = _rows("rules", market, on_date, "other")
    if not rows:
        if subject in ("net_weight", "e_mark"):
            raise NoRuleInForce(f"market '{market}' has no type height for {what} on {on_date}")
        floor = read_toml(TABLE)["house_floor"]
        return TypeRule(
            min_mm=float(floor["mm"]),
            measured=floor["measured"],
            because="the law asks for legible letters and names no figure"
            if required
            else "no rule asks for this statement",
            citation=floor["source"],
            confidence="our own",
            by_law=False,
        )
    rule = rows[0]
    measure, said = _measure(rule["by"], panel_area_cm2, nominal_g)
    step = _step(rule, measure)
    return TypeRule(
        min_mm=float(step["mm"]),
        measured=rule["measured"],
        because=": ".join(part for part in (said, f"at least {step['printed']}") if part),
        citation=rule["citation"],
        confidence=rule["confidence"],
        by_law=True,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeStep:
    """One row of a type-height table: heights for measures up to and including up_to.

    `goes_by` names the measure (area_sq_in, area_cm2, nominal_g, surface_sq_in, none).
    """

    what: str
    goes_by: str
    up_to: str
    min_mm: float
    citation: str
    confidence: str


def size_steps(market: str, on_date: date) -> tuple[SizeStep, ...]:
    """Every type-height row of a market in force on a day. Raises as market_on does."""
    market_on(market, on_date)
    return tuple(
        SizeStep(
            what=row["what"],
            goes_by=row["by"],
            up_to=step.get("up_to", f"under {step['below']}" if "below" in step else "any"),
            min_mm=float(step["mm"]),
            citation=row["citation"],
            confidence=row["confidence"],
        )
        for row in _rows("rules", market, on_date)
        for step in row["steps"]
    )


def net_weight_placement(market: str, on_date: date, panel_area_cm2: float) -> Placement:
    """Where the net weight stands. Raises BadInput (unknown market) or NoRuleInForce."""
    market_on(market, on_date)
    rows = _rows("placement", market, on_date)
    if not rows:
        raise NoRuleInForce(f"market '{market}' has no placement rule on {on_date}")
    row = rows[0]
    binds = "bottom_percent" in row and (
        "only_above_sq_in" not in row
        or square_inches(panel_area_cm2) > Decimal(row["only_above_sq_in"])
    )
    return Placement(
        bottom_fraction=row["bottom_percent"] / 100 if binds else None,
        clear_above_below_heights=float(row.get("clear_above_below_heights", 0)),
        clear_sides_n_widths=float(row.get("clear_sides_n_widths", 0)),
        bold=row["bold"],
        parallel_to_base=row["parallel_to_base"],
        citation=row["citation"],
        confidence=row["confidence"],
    )


def bold_type(market: str, on_date: date) -> dict[str, str]:
    """The citation by statement kind of those that must stand in bold type; else not in it.

    Raises:
        BadInput: unknown market; NoRuleInForce: the market is not covered on that day.
    """
    market_on(market, on_date)
    found = {row["what"]: row["citation"] for row in _rows("bold", market, on_date)}
    weight = next(iter(_rows("placement", market, on_date)), None)
    if weight is not None and weight["bold"]:
        found["net_weight"] = weight["citation"]
    return found


def _panel_factor(shape: str) -> float:
    rows = read_toml(TABLE)["panel_area"]
    return float(next(row for row in rows if row["shape"] == shape)["factor"])


def rectangle_panel_cm2(width_mm: float, height_mm: float) -> float:
    """Panel area, cm2, of a package whose one whole side is the panel (16 CFR 500.21(a)(1))."""
    return width_mm * height_mm / 100.0


def cylinder_panel_cm2(height_mm: float, circumference_mm: float) -> float:
    """Panel area, cm2, of a cylinder: 0.40 x height x circumference (16 CFR 500.21(a)(2))."""
    return _panel_factor("cylinder") * height_mm * circumference_mm / 100.0
