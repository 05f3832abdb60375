"""Label runs against bare ReportLab + qrcode drawing the same strings in the same places.

Run: python tests/bench/bench_labels.py [LABELS]

Both sides draw the same lines at the same baselines in the same embedded fonts, and a QR code of
the same text, level and version as filled squares; the bare side is told the lines, ours finds and
checks them. The bare side uses the qrcode library as its own manual does: the library picks the
mask, and every dark module is a square. Most of that side's time is the library's picking, so
distinct labels are timed a second time with the mask given to the bare side (`mask given`), which
no plain user does and which the standard does not want; ours picks the mask all the same.

Prints the ratio ours / bare in processor time, the best of three runs each, in one process; asked
for: at most 1.5 for identical labels, 1.0 for distinct ones.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

import qrcode
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from soapstock.labelling.wording import LabelWording, Statement
from soapstock.render.label.designs import load_face, load_sheet
from soapstock.render.label.items import Layout, QrItem, TextItem
from soapstock.render.label.layout import lay_out
from soapstock.render.label.legal import law_of
from soapstock.render.label.pieces import Printed
from soapstock.render.label.run import LabelJob, write_labels

FOLDERS = [Path(__file__).parents[2] / "labels"]
LEVELS = {
    "M": qrcode.ERROR_CORRECT_M,
    "Q": qrcode.ERROR_CORRECT_Q,
    "H": qrcode.ERROR_CORRECT_H,
}
FACE, SHEET = load_face("panel", FOLDERS), load_sheet("a4-2x4", FOLDERS)
LIST = (
    "Ingredients: Adeps Bovis, Cocos Nucifera Oil, Aqua, Olea Europaea Fruit Oil, Sodium Hydroxide,"
    " Ricinus Communis Seed Oil, Butyrospermum Parkii Butter, Kaolin, Avena Sativa Kernel Flour,"
    " Maris Sal, Lavandula Angustifolia Oil, Linalool, Linalyl Acetate, CI 77007"
)


def wording(number: int) -> LabelWording:
    """An invented label; only lot code and QR text depend on the number."""
    lot = f"DRF{number:07d}"
    texts = {
        "name": "Driftwood",
        "identity": "Soap",
        "net_weight": "Net Wt 3.98 oz (113 g)",
        "ingredients": LIST,
        "maker": "Made by Heronwick Saltings, 3 Staithe Lane, Saltmarsh End, EX1 2MP",
        "lot": f"Lot {lot}",
        "made": "Made 25 Nov 2026",
        "best_before": "Best before 25 May 2028",
    }
    return LabelWording(
        statements=tuple(
            Statement(kind=kind, text=text, rule="", required=False)  # type: ignore[arg-type]
            for kind, text in texts.items()
        ),
        lot_code=lot,
        qr_text=f"https://heronwick.example/lot/{lot}",
        cautions=("Rules differ by place.",),
        market="us-soap",
        on=date(2026, 11, 25),
        nominal_g=113.0,
    )


def ours(path: Path, jobs: Sequence[LabelJob]) -> None:
    """Print the jobs."""
    write_labels(path, jobs, face=FACE, sheet=SHEET, title="bench")


def _bare_label(canvas: Canvas, layout: Layout, mask: int | None) -> None:
    height = layout.height_mm
    for item in layout.items:
        if isinstance(item, TextItem):
            canvas.setFont(item.font.name, item.size_pt)
            for line, left, baseline in item.lines:
                canvas.drawString(left * mm, (height - baseline) * mm, line)
        elif isinstance(item, QrItem):
            code = qrcode.QRCode(
                version=item.plan.version,
                error_correction=LEVELS[item.plan.level],
                border=4,
                mask_pattern=mask,
            )
            code.add_data(item.text)
            code.make(fit=False)
            side = item.plan.module_mm * mm
            path = canvas.beginPath()
            for row, cells in enumerate(code.get_matrix()):
                for column, dark in enumerate(cells):
                    if dark:
                        path.rect(
                            item.ink.left * mm + column * side,
                            (height - item.ink.top) * mm - (row + 1) * side,
                            side,
                            side,
                        )
            canvas.drawPath(path, stroke=0, fill=1)


def bare(path: Path, layouts: Sequence[tuple[Layout, int]], mask: int | None = None) -> None:
    """Draw the same labels with the two libraries alone; a copy is a form, as ours is."""
    canvas = Canvas(str(path), pagesize=(210 * mm, 297 * mm), pageCompression=1)
    index = 0
    for number, (layout, copies) in enumerate(layouts):
        if copies > 1:
            canvas.beginForm(f"f{number}")
            _bare_label(canvas, layout, mask)
            canvas.endForm()
        for _ in range(copies):
            if index == SHEET.per_page:
                canvas.showPage()
                index = 0
            cell = SHEET.cell(index)
            canvas.saveState()
            canvas.translate(cell.left * mm, (297 - cell.bottom) * mm)
            if copies > 1:
                canvas.doForm(f"f{number}")
            else:
                _bare_label(canvas, layout, mask)
            canvas.restoreState()
            index += 1
    canvas.save()


def best(work: Callable[[], None], times: int = 3) -> float:
    """Processor seconds of the quickest of some runs: other work on the machine counts less."""
    taken = []
    for _ in range(times):
        start = time.process_time()
        work()
        taken.append(time.process_time() - start)
    return min(taken)


def _layouts(jobs: Sequence[LabelJob]) -> list[tuple[Layout, int]]:
    width, height = FACE.size_on(SHEET) or (0.0, 0.0)
    found = []
    for job in jobs:
        law = law_of(job.wording, FACE, width_mm=width, height_mm=height)
        printed = Printed(wording=job.wording, face=FACE, law=law)
        found.append((lay_out(printed, width_mm=width, height_mm=height), job.copies))
    return found


def compare(
    name: str, jobs: Sequence[LabelJob], folder: Path, asked: float, mask: int | None = None
) -> None:
    """Time both sides on the same labels and print the ratio."""
    layouts = _layouts(jobs)
    a, b = folder / "ours.pdf", folder / "bare.pdf"
    mine, theirs = best(lambda: ours(a, jobs)), best(lambda: bare(b, layouts, mask))
    labels = sum(job.copies for job in jobs)
    sys.stdout.write(
        f"{labels} {name}: ours {mine:.3f} s, bare {theirs:.3f} s, ratio {mine / theirs:.2f}"
        f" (asked: {asked:g}); {a.stat().st_size / 1000:.0f} KB against"
        f" {b.stat().st_size / 1000:.0f} KB\n"
    )


def main() -> None:
    """Print all figures."""
    labels = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        compare("identical", [LabelJob(wording=wording(1), copies=labels)], folder, 1.5)
        jobs = [LabelJob(wording=wording(n), copies=1) for n in range(labels)]
        compare("distinct", jobs, folder, 1.0)
        compare("distinct, mask given", jobs, folder, 1.0, mask=0)


if __name__ == "__main__":
    main()
