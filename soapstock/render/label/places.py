"""Checks of a laid-out label by computation: on the label, no overlap, clear net weight."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import hypot

from soapstock.errors import RuleBroken
from soapstock.render.label.designs import Face
from soapstock.render.label.items import (
    ArcItem,
    Item,
    OrnamentItem,
    ShapeItem,
    TextItem,
    name_of_item,
)
from soapstock.render.label.legal import Law
from soapstock.render.pdf.geometry import Rect
from soapstock.units import MM_PER_PT

_WEIGHTS = frozenset({"net_weight", "pair"})
_SOLID = ("rule", "image", "mark")
_EDGED = ("tile", "frame", "ring")
_OFF_LABEL = (
    "take a bigger label, or mend the block's edges in the face",
    "shorten it, take a bigger label, or mend the block's edges in the face",
)


def clear_zone(item: TextItem, heights: float = 1.0, n_widths: float = 2.0) -> Rect:
    """The space the net weight keeps free of other print.

    By default above and below the height of its lettering, left and right twice the width of its N:
    16 CFR 500.6(b), 21 CFR 701.13(f).
    """
    height = item.font.cap_height * item.size_pt * MM_PER_PT
    across = n_widths * item.font.width_mm("N", item.size_pt)
    return item.ink.grown(across, heights * height)


def _off_round_corner(ink: Rect, label: Rect, radius: float) -> bool:
    """Whether a corner of the ink lies in the part that the rounded corners cut away."""
    if radius <= 0:
        return False
    core = label.grown(-radius)
    for at in ink.corners():
        over_x = max(core.left - at.left, at.left - core.right, 0.0)
        over_y = max(core.top - at.top, at.top - core.bottom, 0.0)
        if hypot(over_x, over_y) > radius + 1e-6:
            return True
    return False


def _parts(item: Item) -> list[Rect]:
    """What covers paper: each line of a text and each letter on a circle by itself, or the item."""
    if isinstance(item, ArcItem):
        return item.boxes()
    if not isinstance(item, TextItem):
        return [item.ink]
    height = item.ink.height / len(item.lines)
    return [
        Rect(
            left=left,
            top=item.ink.top + number * height,
            width=item.font.width_mm(line, item.size_pt),
            height=height,
        )
        for number, (line, left, _) in enumerate(item.lines)
    ]


def _meet(one: Item, other: Item) -> bool:
    if not one.ink.meets(other.ink):
        return False
    if not isinstance(one, ArcItem) and not isinstance(other, ArcItem):
        return True
    return any(a.meets(b) for a in _parts(one) for b in _parts(other))


def _may_touch_edge(item: Item) -> bool:
    """Whether it is an outline, a ground, a stripe or a picture: these may go to the edge."""
    if isinstance(item, OrnamentItem):
        return item.draws == "stripe"
    return isinstance(item, ShapeItem) and item.draws != "mark"


def _check_on_label(items: Sequence[Item], face: Face, label: Rect, corner_mm: float) -> None:
    safe = label.grown(-face.clear_mm)
    bled = label.grown(face.bleed_mm)
    blanks = [p.edges.within(label) for p in face.panels.values() if p.blank]
    for item in items:
        if _may_touch_edge(item):
            inside = bled.holds(item.ink)
        elif face.shape == "rectangle":
            inside = safe.holds(item.ink) and not _off_round_corner(
                item.ink, safe, max(corner_mm - face.clear_mm, 0.0)
            )
        else:
            parts = item.corners() if isinstance(item, ArcItem) else _parts(item)
            inside = all(safe.holds_in_ellipse(part) for part in parts)
        hole = isinstance(item, ShapeItem) and item.draws == "ring"
        if not inside or (not hole and any(item.ink.meets(blank) for blank in blanks)):
            raise RuleBroken(
                f"{name_of_item(item)} stands off the printable part of face '{face.name}'"
                f" at {label.width:g} x {label.height:g} mm",
                hint=_OFF_LABEL[face.shape != "rectangle" and isinstance(item, TextItem)],
            )


def _cut(ground: ShapeItem, item: Item) -> bool:
    """Whether the edge of a ground or an outline runs through something else."""
    if not (ground.oval or ground.draws == "ring"):
        return any(
            ground.ink.meets(part) and not ground.ink.holds(part, slack=1e-3)
            for part in _parts(item)
        )
    if isinstance(item, ArcItem):  # turned letters, so not their upright boxes
        shapes = [item.corners()]
    else:
        shapes = [part.corners() for part in _parts(item)]
    held = [{ground.ink.holds_in_ellipse(spot) for spot in shape} for shape in shapes]
    return {True, False} in held


def _check_grounds(items: Sequence[Item], face: Face) -> None:
    grounds = [item for item in items if isinstance(item, ShapeItem) and item.draws in _EDGED]
    for item in items:
        if isinstance(item, ShapeItem):
            continue
        if any(_cut(ground, item) for ground in grounds):
            raise RuleBroken(
                f"{name_of_item(item)} lies across an edge or a line on face '{face.name}'",
                hint="take a bigger label, or mend the face",
            )


def _check_net_weight(items: Sequence[Item], face: Face, label: Rect, law: Law) -> None:
    place = law.placement
    heights = place.clear_above_below_heights if place else 1.0
    widths = place.clear_sides_n_widths if place else 2.0
    said = place.citation if place else "16 CFR 500.6"
    for item in items:
        if not isinstance(item, TextItem) or not _WEIGHTS & set(item.holds):
            continue
        if place and place.bottom_fraction is not None:
            panel = face.display_rect(label)
            if item.ink.top < panel.bottom - place.bottom_fraction * panel.height - 1e-6:
                percent = 100 * place.bottom_fraction
                raise RuleBroken(
                    f"the net weight stands above the lowest {percent:.0f} % of the front on face"
                    f" '{face.name}' ({said})",
                    hint="move its block down in the face, or take a bigger label",
                )
        zone = clear_zone(item, heights, widths)
        for other in items:
            if other is not item and any(zone.meets(part) for part in _parts(other)):
                raise RuleBroken(
                    f"{name_of_item(other)} stands too near the net weight on face"
                    f" '{face.name}' ({said})",
                    hint="take a bigger label or move the block in the face",
                )


def check_places(
    items: Sequence[Item], face: Face, label: Rect, law: Law, corner_mm: float
) -> None:
    """Refuse print off the label, overlapping print, and a crowded or misplaced net weight.

    Outlines and grounds may lie round print; filled bars and pictures may not lie under it, and no
    outline or edge of a ground may cut it (16 CFR 500.20 asks for distinct contrast).

    Raises:
        RuleBroken: the first fault found, in words.
    """
    _check_on_label(items, face, label, corner_mm)
    _check_grounds(items, face)
    solid = [i for i in items if not isinstance(i, ShapeItem) or i.draws in _SOLID]
    for one, other in combinations(solid, 2):
        if _meet(one, other):
            raise RuleBroken(
                f"{name_of_item(one)} and {name_of_item(other)} overlap on face '{face.name}'",
                hint="take a bigger label or mend the face",
            )
    _check_net_weight(solid, face, label, law)
