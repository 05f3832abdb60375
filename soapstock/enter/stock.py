"""Places, low levels and printed labels are entered."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk
from soapstock.desk.finding import find_recipe, read_lot
from soapstock.desk.ingredients import known_ingredient
from soapstock.enter.entered import Entered
from soapstock.units import mg_from_g, parse_mass_g, quantity_words, several


def add_place(desk: Desk, name: str, kind: str, capacity_bars: int | None) -> Entered:
    """Add a named rack, shelf or store. Raises RuleBroken when it is there already."""
    with desk.ledger.write() as writer:
        entry = writer.add_place(desk.stamp(), name, kind, capacity_bars)
    holds = f", holding {several(capacity_bars, 'bar')}" if capacity_bars is not None else ""
    return Entered(entry_id=entry, lot_code=None, said=f"New place {name} ({kind}){holds}.")


def set_level(desk: Desk, item: str, amount: str) -> Entered:
    """Say how little of an ingredient (a mass) or of a recipe (bars) calls for more; 0 ends it.

    Raises:
        NotFound: neither an ingredient nor a recipe; BadInput: not an amount.
    """
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        if amount.isascii() and amount.strip().isdigit() and len(amount) < 8:
            name, unit, level = find_recipe(reader, item)[0].code, "bars", int(amount)
        else:
            grams = parse_mass_g(amount, "level")
            name, unit, level = known_ingredient(here, item), "mg", mg_from_g(grams)
        entry = writer.set_reorder_level(desk.stamp(), name, level, unit)
    shown = quantity_words(level, unit)
    said = f"Warns when {name} falls under {shown}." if level else f"No level for {name} any more."
    return Entered(entry_id=entry, lot_code=None, said=said)


def count_labels(
    desk: Desk, lot: str, *, printed: int, spoiled: int, used: int, face: str = ""
) -> Entered:
    """Count labels printed for a lot, spoiled, and stuck on bars."""
    with desk.writing() as (here, writer):
        code = read_lot(here, lot, kind="batch")
        entry = writer.print_labels(desk.stamp(), code, printed, spoiled, used, face)
    said = f"Labels of {code.shown}: {printed} printed, {spoiled} spoiled, {used} used."
    return Entered(entry_id=entry, lot_code=code, said=said)


def count_printed(
    desk: Desk, runs: Sequence[tuple[str, int]], face: str, note: str = ""
) -> list[str]:
    """Count the labels of a print run, lot by lot, in one transaction; a line for each lot.

    Args:
        runs: lot code and labels printed of it.
        face: the label face's name.
        note: kept with each count, such as why words that claim were printed all the same.
    """
    totals: dict[LotCode, int] = defaultdict(int)
    stamp = desk.stamp(note=note)
    with desk.writing() as (here, writer):
        for lot, labels in runs:
            totals[read_lot(here, lot, kind="batch")] += labels
        entries = [
            (code, labels, writer.print_labels(stamp, code, labels, face=face))
            for code, labels in totals.items()
        ]
    return [
        f"Counted {labels} label{'' if labels == 1 else 's'} of {code.shown} as printed "
        f"(entry {entry})."
        for code, labels, entry in entries
    ]
