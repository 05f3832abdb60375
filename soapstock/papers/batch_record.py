"""The batch record: everything the ledger holds of a batch.

The headings are our own words; the number behind each is the clause of ISO 22716:2007 that asks for
that record (7.2.5 is from memory). Only facts of the ledger are printed. What is not on record is
printed as a gap, so that whoever reads it sees what is missing.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from soapstock.chemistry.cautions import lye_cautions
from soapstock.codes.lot import with_hyphens
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.desk.finding import parsed_recipe, read_lot
from soapstock.recipes.weighing import expected_peak_c
from soapstock.units import g_from_mg, mass_words, several
from soapstock.views.poured import actual_masses, all_uses

if TYPE_CHECKING:
    from soapstock.ledger.facts import BatchFacts, EntryRecord, PhotoRecord
    from soapstock.render.paper.plain import Column, Section


GAP = "GAP: not on record"


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordDone:
    """The record written, its pages, what is missing in it, and whether it names customers."""

    path: Path
    pages: int
    gaps: tuple[str, ...]
    names_customers: bool


@one_snapshot
def write_record(desk: Desk, lot: str, out: Path | None) -> RecordDone:
    """Write a batch's record as PDF. Raises NotFound, or RuleBroken for an ingredient lot."""
    from soapstock.render.paper.plain import Paper, write_paper

    code = read_lot(desk, lot, kind="batch")
    with desk.ledger.read() as reader:
        facts = reader.batch(code)
        entries = reader.entries(code)
        labels = {c.lot_code: c for c in reader.label_counts()}.get(code)
        photos = reader.photos(code)
        number, head = reader.head()
    gaps: list[str] = []
    sections = [
        *_order(facts, gaps),
        *_materials(facts, gaps),
        *_process(facts, gaps),
        *_controls(facts, gaps),
        *_release(facts, gaps),
        *_packaging(labels, gaps),
        *_stock(facts, gaps),
        *_photos(photos),
        *_entries(entries),
    ]
    path = out or Path(f"{code}-record.pdf")
    pages = write_paper(
        path,
        Paper(
            title=f"Batch record {code.shown}",
            shop_name=desk.shop.maker,
            qr_text=code,
            subtitle=f"{facts.recipe_code} version {facts.recipe_version}, poured "
            f"{facts.poured_on.isoformat()}, printed {desk.today.isoformat()}",
            sections=tuple(sections),
            paper=desk.shop.paper,
            foot=f"From ledger entries 1 to {number}, hash {head[:16]}.",
        ),
    )
    sold = any(e.kind == "ship" for e in entries)  # an undone one is told as well
    return RecordDone(path=path, pages=pages, gaps=tuple(gaps), names_customers=sold)


def _known(value: Any, what: str, gaps: list[str], unit: str = "") -> tuple[str, str]:
    if value is None or value == "":
        gaps.append(what)
        return what, GAP
    text = f"{value:g}" if isinstance(value, float) else str(value)
    return what, f"{text} {unit}".strip()


def _columns(*heads: str, right: tuple[str, ...] = ()) -> tuple[Column, ...]:
    from soapstock.render.paper.plain import Column

    return tuple(Column(head=head, right=head in right) for head in heads)


def _order(facts: BatchFacts, gaps: list[str]) -> list[Section]:
    from soapstock.render.paper.plain import Section

    return [
        Section(
            heading="What was poured, and when (7.2.1, 7.2.3)",
            facts=(
                ("Lot", facts.lot_code.shown),
                ("Recipe", f"{facts.recipe_code} version {facts.recipe_version}"),
                ("Poured on", facts.poured_on.isoformat()),
                ("By", facts.by),
                ("Plan on record", "yes" if facts.pour.planned_json else GAP),
                ("Safety verdict on record", "yes" if facts.pour.judgement_json else GAP),
                _known(facts.pour.mould, "Mould", gaps),
                ("Bench looked over first (7.2.2)", GAP),
            ),
        )
    ]


def _materials(facts: BatchFacts, gaps: list[str]) -> list[Section]:
    from soapstock.render.paper.plain import Section

    rows = []
    for use in all_uses(facts):
        lot = facts.lot_of(use)
        if use.lot_code is None:
            gaps.append(f"lot of {use.ingredient}")
        origin = ""
        if lot is not None:
            origin = ", ".join(filter(None, (lot.supplier, lot.animal, lot.supplier_lot)))
        dates = ""
        if lot is not None:
            until = f", best before {lot.best_before}" if lot.best_before else ""
            dates = f"received {lot.received_on}{until}"
        rows.append(
            (
                use.ingredient,
                mass_words(g_from_mg(use.mass_mg)) if use.mass_mg else "not weighed",
                use.lot_shown or GAP,
                origin or "-",
                dates or "-",
            )
        )
    columns = _columns(
        "Ingredient", "Weighed", "Lot", "Supplier and their lot", "Receipt", right=("Weighed",)
    )
    materials = Section(heading="What went in (6.4, 7.2.4)", columns=columns, rows=tuple(rows))
    return [materials, *_lye_cautions(facts)]


def _lye_cautions(facts: BatchFacts) -> list[Section]:
    """The cautions that stand wherever a lye weight is printed."""
    from soapstock.render.paper.plain import Section

    if not any(use.role in ("naoh", "koh") for use in all_uses(facts)):
        return []
    said = "\n".join(f"- {caution}" for caution in lye_cautions(_caution_peak_c(facts)))
    return [Section(heading="Lye burns skin and eyes", text=said)]


def _caution_peak_c(facts: BatchFacts) -> float | None:
    """The hottest that a caution must tell of, C: never less than the batch sheet told.

    What one pour reached in a cool room is no bound for the next. None, said as near boiling,
    where no table covers the lye.
    """
    recipe = parsed_recipe(facts.recipe_text, f"recipe {facts.recipe_code}")
    reckoned = expected_peak_c(recipe, actual_masses(facts))
    if reckoned is None:
        return None
    planned = json.loads(facts.pour.planned_json or "{}").get("lye_peak_c")
    return max(reckoned, facts.pour.peak_c or 0.0, planned or 0.0)


def _process(facts: BatchFacts, gaps: list[str]) -> list[Section]:
    from soapstock.render.paper.plain import Section

    pour = facts.pour
    known = (
        _known(pour.lye_c, "Lye at mixing", gaps, "°C"),
        _known(pour.fats_c, "Fats at mixing", gaps, "°C"),
        _known(pour.peak_c, "Highest temperature", gaps, "°C"),
        _known(pour.room_c, "Room", gaps, "°C"),
        _known(pour.room_rh, "Room humidity", gaps, "%"),
        _known(pour.trace_minutes, "Seized after" if pour.seized else "Trace after", gaps, "min"),
        ("Batter in the mould", mass_words(g_from_mg(pour.batter_mg))),
    )
    return [Section(heading="How it was poured (7.2.1.2)", facts=known)]


def _controls(facts: BatchFacts, gaps: list[str]) -> list[Section]:
    from soapstock.render.paper.plain import Section

    out = facts.unmould
    if out is None:
        gaps.append("unmoulding")
        told: tuple[tuple[str, str], ...] = (("Unmoulding", GAP),)
    else:
        mass = mass_words(g_from_mg(out.counted_mass_mg))
        told = (
            (
                "Unmoulding",
                f"{out.on.isoformat()} by {out.by}: {several(out.bars, 'bar')}, "
                f"{out.rejects} rejected; {out.counted_bars} weighed {mass}",
            ),
        )
    rows = tuple(
        (
            w.on.isoformat(),
            str(w.bars),
            mass_words(w.mass_g),
            f"{w.bar_g:.1f} g",
            w.by,
        )
        for w in facts.weigh_ins
    )
    if not rows:
        gaps.append("weigh-ins")
    columns = _columns("On", "Bars", "Mass", "A bar", "By", right=("Bars", "Mass", "A bar"))
    tests = tuple(
        (t.on.isoformat(), t.method, t.value or "-", "passed" if t.passed else "FAILED", t.by)
        for t in facts.tests
    )
    if not tests:
        gaps.append("tests")
    return [
        Section(
            heading="Out of the mould, and weighed as it dried (7.2.5)",
            facts=told,
            columns=columns if rows else (),
            rows=rows,
            text="" if rows else f"Weigh-ins: {GAP}",
        ),
        Section(
            heading="How it was tested (9)",
            rows=tests,
            text="" if tests else GAP,
            columns=_columns("On", "Method", "Value", "Outcome", "By") if tests else (),
        ),
    ]


def _release(facts: BatchFacts, gaps: list[str]) -> list[Section]:
    from soapstock.render.paper.plain import Section

    rows: tuple[tuple[str, ...], ...] = tuple(
        (d.on.isoformat(), d.decision, d.reason or "-", d.by) for d in facts.decisions
    )
    if not rows:
        gaps.append("release")
    rows += tuple(
        (d.on.isoformat(), f"declared {d.mass_g:g} g a bar", d.reason, d.by) for d in facts.declared
    )
    return [
        Section(
            heading="Who let it go, or kept it back (8.2, 8.3.3)",
            rows=rows,
            columns=_columns("On", "Decision", "Reason", "By") if rows else (),
            text="" if rows else GAP,
        )
    ]


def _packaging(labels: Any, gaps: list[str]) -> list[Section]:
    from soapstock.render.paper.plain import Section

    if labels is None:
        gaps.append("labels printed")
        return [Section(heading="Its labels (7.3)", text=GAP)]
    return [
        Section(
            heading="Its labels (7.3)",
            facts=(
                ("Labels printed", str(labels.printed)),
                ("Spoiled", str(labels.spoiled)),
                ("On bars", str(labels.used)),
                ("Left over", str(labels.left)),
            ),
        )
    ]


def _stock(facts: BatchFacts, gaps: list[str]) -> list[Section]:
    from soapstock.render.paper.plain import Section

    places = tuple(sorted(facts.places.items()))
    if not facts.places.get("retained"):
        gaps.append("retained samples")
    sent = tuple(
        (s.on.isoformat(), str(s.bars), s.customer, s.order_ref or "-", s.destination or "-")
        for s in facts.shipments
    )
    return [
        Section(
            heading="Where the bars are (8.3), samples kept back (9.8)",
            columns=_columns("Place", "Bars", right=("Bars",)) if places else (),
            rows=tuple((place, str(n)) for place, n in places),
            text="" if facts.places.get("retained") else f"Samples kept back: {GAP}",
        ),
        Section(
            heading="Who received it (8.4)",
            rows=sent,
            text="" if sent else "None on record.",
            columns=_columns("On", "Bars", "Customer", "Order", "Destination") if sent else (),
        ),
    ]


def _photos(photos: list[PhotoRecord]) -> list[Section]:
    """Which photos there are; each is told from any other by its digest."""
    from soapstock.render.paper.plain import Column, Section

    if not photos:
        return []
    columns = (
        Column(head="On", share=0.8),
        Column(head="By", share=0.8),
        Column(head="Note", share=1.6),
        Column(head="Points", share=0.9),
        Column(head="SHA-256", share=1.8),
    )
    rows = tuple(
        (p.on.isoformat(), p.by, p.note or "-", f"{p.width} x {p.height}", p.sha256[:32])
        for p in photos
    )
    return [Section(heading="Photos kept with the ledger", columns=columns, rows=rows)]


def _entries(entries: list[EntryRecord]) -> list[Section]:
    from soapstock.render.paper.plain import Column, Section

    rows = tuple(
        (
            str(e.id),
            e.happened_on.isoformat(),
            e.entered_at.strftime("%Y-%m-%d %H:%M UTC"),
            e.by,
            with_hyphens(e.summary)
            + (f" (undone by entry {e.undone_by})" if e.undone_by else "")
            + (f"; {e.note}" if e.note else ""),
        )
        for e in entries
    )
    columns = (
        Column(head="No", share=0.4),
        Column(head="Happened", share=0.9),
        Column(head="Entered", share=1.3),
        Column(head="By", share=0.9),
        Column(head="What", share=3.5),
    )
    return [
        Section(heading="All entries, and what was mended (17.3.4)", columns=columns, rows=rows)
    ]
