"""Bars by variety: what is ready, cures, stands in the mould, is kept for orders, and is free."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from soapstock.desk.desk import Desk
from soapstock.views.batch import views


@dataclass(frozen=True, slots=True, kw_only=True)
class VarietyRow:
    """Bars of one recipe.

    Attributes:
        ready: may be sold today: all gates open and not past their best-before.
        curing: out of the mould and not ready, stopped ones left out.
        in_mould: as many as are planned.
        stopped: on hold, failed or rejected.
        kept: promised to orders out of `ready`.
        free: ready and not kept; never under 0.
    """

    recipe: str
    name: str
    ready: int
    curing: int
    in_mould: int
    stopped: int
    kept: int
    free: int


def varieties(desk: Desk) -> list[VarietyRow]:
    """A row for each recipe with bars here, by name; read in one snapshot."""
    with desk.reading() as (here, reader):
        stock = views(here, in_stock=True)
        kept_of = reader.reserved_by_lot()
    names: dict[str, str] = {}
    sums: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for item in stock:
        code, state = item.facts.recipe_code, item.readiness.state
        names[code] = item.recipe.name
        ready = state == "ready" and not item.expired
        what = "ready" if ready else "stopped" if item.stopped else "curing"
        sums[code]["in_mould" if state == "in mould" else what] += item.bars
        if ready:
            sums[code]["kept"] += min(item.bars, kept_of.get(item.facts.lot_code, 0))
    return [
        VarietyRow(
            recipe=code,
            name=name,
            ready=sums[code]["ready"],
            curing=sums[code]["curing"],
            in_mould=sums[code]["in_mould"],
            stopped=sums[code]["stopped"],
            kept=sums[code]["kept"],
            free=sums[code]["ready"] - sums[code]["kept"],
        )
        for code, name in sorted(names.items(), key=lambda pair: pair[1])
    ]
