"""What the law asks of type on a label: least heights, and the place of the net weight.

The figures come from labelling's dated tables; here they are tied to the face's panels and letters.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import pi

from soapstock.labelling.symbols import symbols_for
from soapstock.labelling.type_size import (
    Placement,
    TypeRule,
    bold_type,
    net_weight_placement,
    rectangle_panel_cm2,
    type_rule,
)
from soapstock.labelling.wording import LabelWording
from soapstock.render.label.designs import Face
from soapstock.render.pdf.fonts import Measured
from soapstock.render.pdf.geometry import Rect

E_MARK = "\u212e"


@dataclass(frozen=True, slots=True, kw_only=True)
class TypeNeed:
    """Least height of one statement's letters.

    Attributes:
        mm: least height.
        measured: which letter is measured.
        rule: citation, or who asks for it.
        confidence: how we know the rule.
    """

    mm: float
    measured: Measured = "o"
    rule: str = "this face"
    confidence: str = "our own"


@dataclass(frozen=True, slots=True, kw_only=True)
class Law:
    """What binds one label.

    Attributes:
        needs: by statement kind.
        placement: of the net weight; None when no rule is known, and then the strictest clear
            space of our tables is kept.
        bold: citation by kind of the statements that must stand in bold type.
    """

    needs: Mapping[str, TypeNeed] = field(default_factory=dict)
    placement: Placement | None = None
    bold: Mapping[str, str] = field(default_factory=dict)


def _measured(words: str, text: str) -> Measured:
    # The mark stands as high as the figures beside it: both are 0.65 em in the shipped font.
    if "figures" in words or "mark" in words:
        return "figure"
    if "upper-case" in words and text.isupper():
        return "capital"
    return "o"


def _need(rule: TypeRule, text: str) -> TypeNeed:
    return TypeNeed(
        mm=rule.min_mm,
        measured=_measured(rule.measured, text),
        rule=rule.citation,
        confidence=rule.confidence,
    )


def _text(wording: LabelWording, kind: str) -> str:
    return next((s.text for s in wording.statements if s.kind == kind), "")


def law_of(
    wording: LabelWording,
    face: Face,
    *,
    width_mm: float,
    height_mm: float,
    panel_cm2: float | None = None,
    surface_cm2: float | None = None,
) -> Law:
    """The rules for a wording on a face of that size.

    Args:
        wording: with its market and day; one without a market is bound by no table.
        face: its display panel stands for the package's when panel_cm2 is None.
        width_mm: of the label.
        height_mm: of the label.
        panel_cm2: area of the PACKAGE's principal display panel, cm2. The law goes by the package,
            not by the sticker: give it when the bar's side is larger than the label.
        surface_cm2: whole surface of the package there is for labelling, cm2.

    Raises:
        BadInput: unknown market.
        NoRuleInForce: the market is not covered on that day.
    """
    if not wording.market or wording.on is None:
        return Law()
    label = Rect(left=0, top=0, width=width_mm, height=height_mm)
    display = face.display_rect(label)
    round_off = 1.0 if face.shape == "rectangle" else pi / 4
    panel = panel_cm2 or round_off * rectangle_panel_cm2(display.width, display.height)
    blank = sum(
        rect.width * rect.height / 100
        for rect in (p.edges.within(label) for p in face.panels.values() if p.blank)
    )
    surface = surface_cm2 or round_off * width_mm * height_mm / 100 - blank
    needs = {}
    pair = [one for one in wording.extras if one.kind == "pair"]
    for statement in (*wording.statements, *pair):
        two = statement.kind == "pair"
        rule = type_rule(
            wording.market,
            wording.on,
            panel_area_cm2=surface if statement.kind == "ingredients" else panel,
            nominal_g=2 * (wording.nominal_g or 0.0) if two else wording.nominal_g,
            what="net_weight" if two else statement.kind,
            required=statement.required,
        )
        needs[str(statement.kind)] = _need(rule, statement.text)
    known = {symbol.character for symbol in symbols_for(wording.market, wording.on)}
    if E_MARK in known and E_MARK in _text(wording, "net_weight"):
        mark = type_rule(wording.market, wording.on, what="e_mark")
        if mark.min_mm > needs["net_weight"].mm or needs["net_weight"].measured != "figure":
            needs["net_weight"] = _need(mark, E_MARK)
    placement = net_weight_placement(wording.market, wording.on, panel)
    bold = bold_type(wording.market, wording.on)
    if "net_weight" in bold:
        bold["pair"] = bold["net_weight"]
    return Law(needs=needs, placement=placement, bold=bold)
