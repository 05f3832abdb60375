"""`scan`: a lot's history from its code; alone, a loop for a wedge scanner."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.mends import help_of
from soapstock.cli.frame.output import caution_line, emit_record, say, say_notes, table
from soapstock.cli.frame.session import AsJson, desk, offer_lots
from soapstock.errors import BadInput, SoapstockError
from soapstock.units import day_words, degrees, g_from_mg, mass_words

if TYPE_CHECKING:
    from soapstock.desk.desk import Desk
    from soapstock.ledger.facts import BatchFacts, IngredientLot
    from soapstock.views.batch import BatchView
    from soapstock.views.history import BatchHistory, IngredientHistory

CHART_COLUMNS = 30
LONGEST_LINE = 4000  # characters read at once, so that no stream can fill the memory


def scan(
    ctx: typer.Context,
    code: Annotated[
        str | None,
        typer.Argument(metavar="CODE", help="Lot code or scanned link.", autocompletion=offer_lots),
    ] = None,
    picture: Annotated[
        Path | None, typer.Option("--picture", metavar="FILE", help="Read the code from a picture.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Without a code, read one code a line until Ctrl-D."""
    if code is not None and picture is not None:
        raise BadInput("a code and --picture together", hint="give one of them")
    with desk(ctx) as opened:
        if picture is not None:
            from soapstock.scan.picture import codes_in_picture

            for text in codes_in_picture(picture):
                tell(opened, text, as_json=as_json)
        elif code is not None:
            tell(opened, code, as_json=as_json)
        else:
            loop(opened, as_json=as_json)


def loop(opened: Desk, *, as_json: bool) -> None:
    """Read codes line by line; a bad one is told and the loop goes on."""
    if sys.stdin.isatty():
        say("Scan or type a lot code, one a line. Ctrl-D ends.")
    sys.stdin.reconfigure(errors="replace")  # type: ignore[union-attr]
    while line := sys.stdin.readline(LONGEST_LINE):
        if not line.strip():
            continue
        if len(line) >= LONGEST_LINE:
            raise BadInput("what comes in is no list of codes", hint="give one code a line")
        try:
            tell(opened, line, as_json=as_json)
        except SoapstockError as err:
            help_text = help_of(err)
            say(err.message + (f" ({help_text})" if help_text else ""))


def tell(opened: Desk, text: str, *, as_json: bool = False) -> None:
    """Print the history of one code."""
    from soapstock.views import history

    found = history.scan(opened, text)
    if as_json:
        emit_record(history.history_row(found))
    elif isinstance(found, history.BatchHistory):
        print_batch(found)
    else:
        print_ingredient(opened, found)


def print_batch(found: BatchHistory) -> None:
    """Print a batch's history, the state and the shut gates first."""
    from soapstock.views.words import mark_words

    _print_head(found.item)
    _print_pot(found)
    print_weights(found.item)
    _print_since(found.item.facts)
    undone = [e for e in found.entries if e.undone_by]
    say_notes([f"entry {e.id} ({e.kind}) was undone by entry {e.undone_by}" for e in undone])
    noted = [e for e in found.entries if e.note and not e.undone_by]
    say_notes([f"{e.happened_on.isoformat()} {e.kind}: {e.note}" for e in noted])
    say_notes(mark_words(found.item))


def _print_head(item: BatchView) -> None:
    """What the batch is, its dates, and its gates."""
    from soapstock.cli.cure import print_gates
    from soapstock.views.words import ready_by_words, state_words

    facts = item.facts
    lot = facts.lot_code.shown
    say(f"{lot}  {item.recipe.name}  {state_words(item).upper()}")
    say(
        f"Recipe {facts.recipe_code} version {facts.recipe_version}, poured "
        f"{facts.poured_on.isoformat()} by {facts.by}; day {item.day} of {item.cure_days}"
    )
    if item.best_before:
        say(f"Best before {item.best_before.isoformat()} ({item.keeping_why})")
    if item.readiness.state != "ready" and item.readiness.ready_by is not None:
        say(f"Ready by: {ready_by_words(item)}")
    print_gates(item)


def _print_pot(found: BatchHistory) -> None:
    """What went into the pot, how it was judged, and how it was poured."""
    from soapstock.chemistry.interval import Interval
    from soapstock.chemistry.lye import span_text
    from soapstock.views.poured import all_uses

    item = found.item
    unknown = "from before" if item.facts.pour.from_before else ""
    table(
        "What went in",
        ["Ingredient", "Mass", "Lot", "Supplier", "Their lot"],
        [
            [
                use.ingredient,
                mass_words(g_from_mg(use.mass_mg)) if use.mass_mg else "to shade",
                use.lot_shown or unknown,
                _supplier(item.facts.lot_of(use)),
                _their(item.facts.lot_of(use)),
            ]
            for use in all_uses(item.facts)
        ],
        right=["Mass"],
        whole=["Ingredient", "Mass", "Lot"],
    )
    fat = item.judgement.get("superfat_percent")
    if fat:
        say(f"Superfat as weighed {span_text(Interval(**fat))}, judged {item.judged.upper()}")
    if item.facts.pour.from_before:
        say_notes(item.judgement.get("reasons", [])[:1])
    say(caution_line())
    conditions = _conditions(found)
    if conditions:
        say(f"Conditions: {conditions}")


def _print_since(facts: BatchFacts) -> None:
    """What was done with the bars: tests, decisions, where they are, who received them."""
    if facts.tests:
        table(
            "Tests",
            ["Day", "Test", "Outcome", "By"],
            [
                [
                    t.on.isoformat(),
                    f"{t.method} {t.value}".strip(),
                    "passed" if t.passed else "FAILED",
                    t.by,
                ]
                for t in facts.tests
            ],
        )
    if facts.decisions:
        table(
            "Decisions",
            ["Day", "Decision", "By", "Why"],
            [[d.on.isoformat(), d.decision, d.by, d.reason] for d in facts.decisions],
            whole=["Day"],
        )
    where = {p: n for p, n in facts.places.items() if n and p not in ("customer", "mould")}
    if where:
        say("Bars: " + ", ".join(f"{n} {p}" for p, n in where.items()))
    if facts.shipments:
        table(
            "Who received them",
            ["Day", "Bars", "Customer", "Order", "To"],
            [
                [s.on.isoformat(), str(s.bars), s.customer, s.order_ref, s.destination]
                for s in facts.shipments
            ],
            right=["Bars"],
            whole=["Day"],
        )


def _supplier(lot: IngredientLot | None) -> str:
    return lot.supplier if lot else ""


def _their(lot: IngredientLot | None) -> str:
    return (lot.supplier_lot or lot.animal) if lot else ""


def _conditions(found: BatchHistory) -> str:
    pour = found.item.facts.pour
    warm = (
        ("lye", pour.lye_c),
        ("fats", pour.fats_c),
        ("lye peak", pour.peak_c),
        ("room", pour.room_c),
    )
    parts = [
        *((at, f"{what} {degrees(at or 0.0)}") for what, at in warm),
        (pour.room_rh, "{:.0f} % RH"),
        (pour.trace_minutes, "trace {:.0f} min"),
    ]
    words = [form.format(value) for value, form in parts if value is not None]
    seized = ["seized"] if pour.seized else []
    return ", ".join([*words, *seized, *([pour.mould] if pour.mould else [])])


def print_weights(item: BatchView) -> None:
    """Print the weigh-ins with a small chart: a bar of text between bone-dry and start."""
    from soapstock.views.history import weight_lines

    rows = [
        [
            line.on.isoformat(),
            str(line.age_days),
            str(line.bars),
            f"{line.bar_g:.1f}",
            f"{0.0 - line.lost_percent:+.1f}",
            "#" * round(CHART_COLUMNS * line.water_left),
            line.room,
        ]
        for line in weight_lines(item)
    ]
    if not rows:
        return
    columns = ["Day", "Age", "Bars", "g", "%", "Water left", "Room"]
    if not any(row[-1] for row in rows):
        columns, rows = columns[:-1], [row[:-1] for row in rows]
    table(
        "Weight of a bar (chart from bone-dry to start: the water still in it)",
        columns,
        rows,
        right=["Age", "Bars", "g", "%"],
        whole=["Day", "Water left"],
    )


def _amount(found: IngredientHistory, batch: BatchFacts) -> str:
    """How much of an ingredient lot went into a batch, or through which lot it came there."""
    through = found.through.get(batch.lot_code)
    if through is not None:
        return f"by {through.shown}"
    uses = (u.mass_mg for u in batch.pour.uses if u.lot_code == found.lot.lot_code)
    return mass_words(g_from_mg(sum(uses)))


def print_ingredient(opened: Desk, found: IngredientHistory) -> None:
    """Print an ingredient lot's history."""
    from soapstock.desk.ingredients import RAW

    lot = found.lot
    say(f"{lot.lot_code.shown}  {lot.ingredient}" + ("  ON HOLD" if lot.hold_reason else ""))
    if lot.hold_reason:
        say(f"On hold: {lot.hold_reason}")
    say(f"From {lot.supplier}" + (f", their lot {lot.supplier_lot}" if lot.supplier_lot else ""))
    if lot.animal:
        raw = f", from {mass_words(g_from_mg(lot.raw_fat_mg))} raw fat" if lot.raw_fat_mg else ""
        came = "Animal:" if lot.ingredient.startswith(RAW) else "Rendered from"
        say(f"{came} {lot.animal}{raw}")
    say(
        f"Received {mass_words(g_from_mg(lot.mass_mg))} on {lot.received_on.isoformat()}, "
        f"{mass_words(g_from_mg(lot.left_mg))} left"
        + (f", best before {day_words(lot.best_before, opened.today)}" if lot.best_before else "")
    )
    rows = [
        [
            b.lot_code.shown,
            b.poured_on.isoformat(),
            _amount(found, b),
            ", ".join(sorted({s.customer for s in b.shipments})),
        ]
        for b in found.batches
    ]
    if lot.ingredient in ("naoh", "koh"):
        say(caution_line())
    if found.rendered:
        say(f"Rendered into {', '.join(code.shown for code in found.rendered)}")
    table(
        "Used in",
        ["Batch", "Poured", "Mass", "Shipped to"],
        rows,
        right=["Mass"],
        whole=["Batch", "Poured"],
        empty="no batch yet",
    )
