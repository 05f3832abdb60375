"""The season page: a span of days on paper, with bars to look at."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from soapstock.desk.desk import Desk
from soapstock.money.share import amount
from soapstock.units import several
from soapstock.views.words import NO_TAX_ADVICE

if TYPE_CHECKING:
    from soapstock.render.paper.plain import Section
    from soapstock.views.season import BestRow, Season

WORDS = ("To", "Stood")  # columns of words, not of figures


def write_season(desk: Desk, told: Season, path: Path) -> int:
    """The season page as a PDF; how many pages it has."""
    from soapstock.render.paper.plain import Paper, Section, write_paper

    notes = [f"Stock is valued by {told.method}. {NO_TAX_ADVICE}"]
    if told.unknown:
        notes.append(
            f"No cost on record for {', '.join(told.unknown)}: margins are too high by it."
        )
    if told.unpriced:
        notes.append(f"{several(told.unpriced, 'bar')} left without a price and are not counted.")
    sections = [
        Section(facts=facts(told)),
        _bars(told),
        _months(told),
        _table(
            "Stock at its end",
            ("What", "Lots", "Value"),
            [(row.what, str(row.lots), str(row.value)) for row in told.stock],
        ),
        _table(
            "Yields",
            ("What", "Went in", "Came out", "%"),
            [(row.of, row.went_in, row.came_out, f"{row.percent:.1f}") for row in told.yields],
        ),
        _table(
            "Breakage after the mould",
            ("Age", "Stood", "Bars", "%"),
            [(row.age, row.stood, str(row.bars), f"{row.percent:.1f}") for row in told.breakage],
        ),
        *_animals(told),
        Section(text="\n".join(notes)),
    ]
    return write_paper(
        path,
        Paper(
            title=f"Season {told.first.isoformat()} to {told.last.isoformat()}",
            subtitle=f"amounts in {told.currency}, before tax",
            shop_name=desk.shop.maker,
            paper=desk.shop.paper,
            sections=tuple(s for s in sections if s.rows or s.facts or s.text),
        ),
    )


def facts(told: Season) -> tuple[tuple[str, str], ...]:
    """The span's sums, each with its label."""
    hour = "not known" if told.hour is None else f"{told.hour} {told.currency}"
    found = [
        ("Batches poured", str(told.batches)),
        ("Batches released", str(told.ready)),
        ("Income", f"{told.income}; postage {told.postage}, tax {told.tax} besides"),
        ("Spent on the shop", str(told.selling)),
        ("Margin", f"{told.margin}, after what was sold, given, wasted and spent"),
        ("Hours in bars sold", f"{told.hours}"),
        ("An hour earned", hour),
    ]
    for label, best in (("Best batch", told.best), ("Worst batch", told.worst)):
        if best is not None:
            found.append((label, batch_words(best)))
    return tuple(found)


def batch_words(best: BestRow) -> str:
    """A batch and what it earned."""
    return f"{best.lot.shown}: {best.margin_a_bar} a bar, {best.sold} sold"


def _table(
    heading: str, heads: Sequence[str], rows: Sequence[tuple[str, ...]], bars: str = ""
) -> Section:
    from soapstock.render.paper.plain import Column, Section

    columns = tuple(
        Column(
            head=head,
            share=2.0 if n == 0 or head == bars else 1.0,
            right=n > 0 and head not in WORDS,
            bars=head == bars,
        )
        for n, head in enumerate(heads)
    )
    return Section(
        heading=heading if rows else "", columns=columns if rows else (), rows=tuple(rows)
    )


def _bars(told: Season) -> Section:
    most = max((row.bars for row in told.bars), default=0) or 1
    rows = [
        (r.way, str(r.bars), "" if r.cost is None else str(r.cost), f"{max(0, r.bars) / most:.4f}")
        for r in told.bars
    ]
    return _table("Bars", ("Bars", "Number", "Cost", " "), rows, bars=" ")


def _months(told: Season) -> Section:
    """Goods sold by month and by the state or place they went to, each with its bar."""
    most = max((row.goods for row in told.months), default=amount(0)) or 1
    rows = [
        (r.month, r.place, str(r.bars), str(r.goods), f"{max(Decimal(0), r.goods) / most:.4f}")
        for r in told.months
    ]
    return _table("Sold by month and place", ("Month", "To", "Bars", "Goods", " "), rows, bars=" ")


def _animals(told: Season) -> list[Section]:
    """Two tables: fat, then bars and where they went."""
    fat = [
        (a.animal, f"{a.raw_kg:.1f}", f"{a.fat_kg:.1f}", f"{a.poured_kg:.1f}", str(a.batches))
        for a in told.animals
    ]
    bars = [
        (
            a.animal,
            *(f"{n:.0f}" for n in (a.bars, a.sold, a.given, a.wasted, a.kept, a.on_hand)),
            f"{amount(round(a.income_cents))}",
        )
        for a in told.animals
    ]
    heads = ("Animal", "Bars", "Sold", "Given", "Wasted", "Kept", "Here", "Income")
    return [
        _table("Animals: fat, kg", ("Animal", "Raw", "Rendered", "Poured", "Batches"), fat),
        _table("Animals: bars, shared by mass of fat", heads, bars),
    ]
