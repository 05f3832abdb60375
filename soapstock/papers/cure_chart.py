"""A batch's cure chart and the rack report, on paper."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from soapstock.desk.desk import Desk, one_snapshot
from soapstock.errors import BadInput
from soapstock.outfile import work_folder
from soapstock.views import words
from soapstock.views.batch import views
from soapstock.views.cure import CureView, cure_view, facts_of
from soapstock.views.lists import curing

if TYPE_CHECKING:
    from soapstock.render.paper.cure_chart import ChartSheet


def chart_sheet(desk: Desk, seen: CureView) -> ChartSheet:
    """What the printed chart of a batch says."""
    from soapstock.render.paper.cure_chart import ChartSheet

    item = seen.item
    ready = item.ready_by
    declared = item.recipe.declared_weight_g
    return ChartSheet(
        shop_name=desk.shop.maker,
        recipe_name=item.recipe.name,
        lot_code=item.facts.lot_code.shown,
        state=words.state_words(item),
        ready_text=words.ready_by_words(item, year=True),
        chart=seen.chart,
        poured_on=item.facts.poured_on,
        today=desk.today,
        cure_days=item.cure_days,
        ready_early=ready.early if ready else None,
        ready_expected=ready.expected if ready else None,
        ready_late=ready.late if ready else None,
        declared_g=float(declared) if declared else None,
        facts=tuple(facts_of(seen)),
        gates=tuple(gate.line for gate in words.gate_words(item)),
        notes=tuple(words.mark_words(item)),
        ink=item.recipe.ink,
    )


def write_chart(desk: Desk, seen: CureView, path: Path) -> None:
    """The chart as PDF, or as a picture when the file ends in .png.

    Raises:
        BadInput: another ending, or the file cannot be written.
    """
    from soapstock.render.paper.cure_chart import write_cure_chart

    if path.suffix.lower() not in (".pdf", ".png"):
        raise BadInput(f"{path} is neither .pdf nor .png", hint="end the file's name in .pdf")
    sheet = chart_sheet(desk, seen)
    if path.suffix.lower() == ".pdf":
        write_cure_chart(path, sheet, paper=desk.shop.paper)
        return

    from soapstock.render.pdf.page_picture import page_to_png

    with work_folder() as folder:
        pdf = folder / "chart.pdf"
        write_cure_chart(pdf, sheet, paper=desk.shop.paper)
        page_to_png(pdf, path)


@one_snapshot
def write_rack(desk: Desk, path: Path, *, everything: bool = False) -> tuple[int, int]:
    """The rack report; batches and pages in it.

    Args:
        path: the PDF to write.
        everything: ready batches too, not only those waiting.

    Raises:
        BadInput: nothing to report, or the file cannot be written.
    """
    from soapstock.render.paper.cure_chart import RackRow, write_rack_report

    items = curing(desk)
    if everything:
        waiting = {item.facts.lot_code for item in items}
        items += [
            item
            for item in views(desk)
            if item.facts.lot_code not in waiting and item.readiness.state == "ready"
        ]
    rows = [
        RackRow(
            sheet=chart_sheet(desk, cure_view(desk, item)),
            bars=words.bars_words(item),
            day=words.day_of_cure(item),
            weight=words.weight_words(item),
            ready=words.ready_by_words(item),
            missing=words.missing_words(item),
        )
        for item in items
        if item.forecast is not None
    ]
    pages = write_rack_report(
        path, rows, shop_name=desk.shop.maker, today=desk.today, paper=desk.shop.paper
    )
    return len(rows), pages
