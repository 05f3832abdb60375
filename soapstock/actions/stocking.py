"""Stock with its warnings: places, reorder levels, best-before, labels against bars, samples."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from soapstock.actions.desk import Desk, find_recipe, read_lot
from soapstock.actions.facts import Entered, known_ingredient
from soapstock.actions.poured import bars_in_hand
from soapstock.codes.lot import format_code
from soapstock.errors import BadInput, NotFound
from soapstock.units import format_g, g_from_mg, mg_from_g, parse_mass_g

HOLDING = ("store", "rack", "shelf")


def add_place(desk: Desk, name: str, kind: str, capacity_bars: int | None) -> Entered:
    """Add a named rack, shelf or store. Raises RuleBroken when it is there already."""
    with desk.ledger.write() as writer:
        entry = writer.add_place(desk.stamp(), name, kind, capacity_bars)
    holds = f", holding {capacity_bars} bars" if capacity_bars is not None else ""
    return Entered(entry_id=entry, lot_code="", said=f"New place {name} ({kind}){holds}.")


def places(desk: Desk) -> list[dict[str, Any]]:
    """Places that hold stock, with bars there and room left."""
    there: dict[str, int] = defaultdict(int)
    with desk.ledger.read() as reader:
        for line in reader.stock():
            if line.unit == "bars":
                there[line.place] += line.quantity
        known = reader.places()
    return [
        {
            "place": p.name, "kind": p.kind, "bars": there[p.name], "capacity": p.capacity_bars,
            "room": None if p.capacity_bars is None else p.capacity_bars - there[p.name],
        }
        for p in known
        if p.kind in (*HOLDING, "retained", "returned")
    ]  # fmt: skip


def set_level(desk: Desk, item: str, amount: str) -> Entered:
    """Say how little of an ingredient (a mass) or of a recipe (bars) calls for more; 0 ends it.

    Raises:
        NotFound: neither an ingredient nor a recipe; BadInput: not an amount.
    """
    if amount.isascii() and amount.strip().isdigit() and len(amount) < 8:
        with desk.ledger.read() as reader:
            name, unit, level = find_recipe(reader, item)[0].code, "bars", int(amount)
    else:
        grams = parse_mass_g(amount, "level")
        name, unit, level = known_ingredient(desk, item), "mg", mg_from_g(grams)
    with desk.ledger.write() as writer:
        entry = writer.set_reorder_level(desk.stamp(), name, level, unit)
    shown = f"{level} bars" if unit == "bars" else format_g(g_from_mg(level))
    said = f"Warns when {name} falls under {shown}." if level else f"No level for {name} any more."
    return Entered(entry_id=entry, lot_code="", said=said)


def warnings(desk: Desk, days: int) -> list[dict[str, Any]]:
    """What runs low, has expired or soon will, is kept for more than there is, or is full."""
    from soapstock.ledger.read.trade import reorder_levels, reserved_by_lot

    if not 0 <= days <= 3660:
        raise BadInput(f"{days} days is no look ahead", hint="0 to 3660")
    with desk.ledger.read() as reader:
        lots = [lot for lot in reader.ingredient_lots() if lot.left_mg > 0]
        held: dict[tuple[str, str], int] = defaultdict(int)
        for line in reader.stock():
            if line.place not in ("retained", "returned", "mould"):
                held[line.item, line.unit] += line.quantity
        levels = reorder_levels(reader.db)
        kept = reserved_by_lot(reader.db)
        batches = reader.batches(list(kept))
    rows: list[dict[str, Any]] = [
        {"what": "expired" if lot.best_before < desk.today else "expires soon",
         "item": lot.ingredient, "lot": format_code(lot.lot_code), "on": lot.best_before,
         "left": format_g(g_from_mg(lot.left_mg)), "level": ""}
        for lot in lots
        if lot.best_before is not None and lot.best_before <= _until(desk.today, days)
    ]  # fmt: skip
    for (item, unit), level in sorted(levels.items()):
        if held[item, unit] < level:
            rows.append({
                "what": "low", "item": item, "lot": "", "on": None,
                "left": _amount(held[item, unit], unit), "level": _amount(level, unit),
            })  # fmt: skip
    rows += [
        {"what": "short for orders", "item": b.recipe_code, "lot": format_code(b.lot_code),
         "on": None, "left": f"{bars_in_hand(b)} bars", "level": f"{kept[b.lot_code]} bars kept"}
        for b in batches
        if bars_in_hand(b) < kept[b.lot_code]
    ]  # fmt: skip
    rows += [
        {"what": "full", "item": p["place"], "lot": "", "on": None, "left": f"{p['bars']} bars",
         "level": f"{p['capacity']} bars"}
        for p in places(desk)
        if p["room"] is not None and p["room"] <= 0
    ]  # fmt: skip
    worst = {"expired": 0, "short for orders": 1, "low": 2, "expires soon": 3, "full": 4}
    return sorted(rows, key=lambda r: (worst[r["what"]], r["on"] or date.max, r["item"]))


def _until(today: date, days: int) -> date:
    return today + timedelta(days=days)


def _amount(quantity: int, unit: str) -> str:
    return f"{quantity} bars" if unit == "bars" else format_g(g_from_mg(quantity))


def count_labels(
    desk: Desk, lot: str, *, printed: int, spoiled: int, used: int, face: str = ""
) -> Entered:
    """Count labels printed for a lot, spoiled, and stuck on bars."""
    code = read_lot(desk, lot, kind="batch")
    with desk.ledger.write() as writer:
        entry = writer.print_labels(desk.stamp(), code, printed, spoiled, used, face)
    said = f"Labels of {format_code(code)}: {printed} printed, {spoiled} spoiled, {used} used."
    return Entered(entry_id=entry, lot_code=code, said=said)


def count_printed(desk: Desk, runs: Sequence[tuple[str, int]], face: str) -> list[str]:
    """Count the labels of a print run, lot by lot, in one transaction; a line for each lot.

    Args:
        runs: lot code and labels printed of it.
        face: the label face's name.
    """
    totals: dict[str, int] = defaultdict(int)
    for lot, labels in runs:
        totals[read_lot(desk, lot, kind="batch")] += labels
    stamp = desk.stamp()
    with desk.ledger.write() as writer:
        entries = [
            (code, labels, writer.print_labels(stamp, code, labels, face=face))
            for code, labels in totals.items()
        ]
    return [
        f"Counted {labels} label{'' if labels == 1 else 's'} of {format_code(code)} as printed "
        f"(entry {entry})."
        for code, labels, entry in entries
    ]


def reconcile(desk: Desk) -> list[dict[str, Any]]:
    """Labels against bars, lot by lot.

    Every bar that left carries a label, so fewer used labels than bars shipped, or fewer labels
    than were used and spoiled, is a difference to explain.
    """
    from soapstock.ledger.read.trade import label_counts

    with desk.ledger.read() as reader:
        counts = label_counts(reader.db)
        batches = {b.lot_code: b for b in reader.batches([c.lot_code for c in counts])}
    rows = []
    for count in counts:
        facts = batches.get(count.lot_code)
        if facts is None:
            raise NotFound(f"labels name a batch that is gone: {count.lot_code}")
        shipped = facts.places.get("customer", 0) + facts.places.get("returned", 0)
        good = facts.unmould.bars if facts.unmould else 0
        finding = ""
        if count.left < 0:
            finding = f"{-count.left} more used and spoiled than printed"
        elif count.used > good:
            finding = f"{count.used - good} more used than bars made"
        elif count.used < shipped:
            finding = f"{shipped - count.used} bars shipped without a label counted"
        rows.append({
            "lot": format_code(count.lot_code), "printed": count.printed,
            "spoiled": count.spoiled, "used": count.used, "left": count.left, "bars_made": good,
            "shipped": shipped, "finding": finding,
        })  # fmt: skip
    return rows


def samples(desk: Desk) -> list[dict[str, Any]]:
    """Retained samples by lot, and batches that have shipped without any."""
    with desk.ledger.read() as reader:
        batches = reader.batches()
    return [
        {"lot": format_code(b.lot_code), "recipe": b.recipe_code, "poured_on": b.poured_on,
         "retained": b.places.get("retained", 0),
         "finding": "" if b.places.get("retained") else "shipped without a retained sample"}
        for b in batches
        if b.places.get("retained") or b.shipments
    ]  # fmt: skip
