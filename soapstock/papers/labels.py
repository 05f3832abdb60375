"""Print labels for one lot or a list of lots."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from soapstock.desk.desk import Desk
from soapstock.errors import BadInput, NotFound, RuleBroken, SoapstockError
from soapstock.exchange.text_file import read_text_file
from soapstock.labelling.claims import quoted, stopping
from soapstock.labelling.front import front_of
from soapstock.tables.csv_text import csv_cells
from soapstock.units import several
from soapstock.views.label import label_text

if TYPE_CHECKING:
    from soapstock.desk.desk import Desk
    from soapstock.render.label.designs import Face, Sheet
    from soapstock.render.label.look import Look
    from soapstock.render.label.run import LabelJob, PrintResult
    from soapstock.shop import Shop
    from soapstock.views.label import LabelText


MAX_LINES = 5_000
MAX_COPIES = 5_000
COLUMNS = ("lot", "copies")
# Enters lots with their labels, and the face's name, as printed; hands back what was entered.
Counting = Callable[[Sequence[tuple[str, int]], str, str], list[str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """So many labels of a lot, from one line of a list."""

    lot: str
    copies: int | None
    line: int


def _wanted(row: list[str], where: str, line: int) -> Wanted:
    if len(row) != len(COLUMNS) or not row[0]:
        raise BadInput(f"{where}: a line is a lot and its copies", hint="such as DRF-26329-A1,12")
    copies = row[1]
    if copies and not (copies.isascii() and copies.isdecimal() and 1 <= int(copies) <= MAX_COPIES):
        raise BadInput(
            f"{where}: copies '{copies}' is not a whole number from 1 to {MAX_COPIES}",
            hint="leave it empty for one label a bar",
        )
    return Wanted(lot=row[0], copies=int(copies) if copies else None, line=line)


def read_list(path: Path) -> list[Wanted]:
    """The lines of a CSV file with columns lot and copies (empty copies: one label a bar).

    Raises:
        NotFound: no such file.
        BadInput: not that kind of file, or a wrong line (names file and line).
    """
    text = read_text_file(path, "list")
    wanted: list[Wanted] = []
    for number, line in enumerate(text.splitlines(), 1):
        where = f"{path}:{number}"
        row = csv_cells(line, where, strict=True)
        if number == 1:
            if row != list(COLUMNS):
                raise BadInput(f"{where}: the columns are not lot,copies", hint="begin: lot,copies")
        elif any(row):
            wanted.append(_wanted(row, where, number))
    if not wanted or len(wanted) > MAX_LINES:
        raise BadInput(f"{path} has {several(len(wanted), 'lot')}", hint=f"give 1 to {MAX_LINES}")
    return wanted


def label_job(
    label: LabelText, shop: Shop, copies: int | None, mood: str | None = None
) -> LabelJob:
    """The print job of a lot: its wording, barcodes if it has a GTIN, and the bar's own front."""
    from soapstock.render.label.run import LabelJob
    from soapstock.render.pdf.barcode import codes_for

    gtin = shop.gtin_for(label.item.recipe.code)
    codes: Mapping[str, str] = {}
    if gtin:
        codes = codes_for(gtin, label.item.facts.lot_code, label.item.best_before)
    number = copies if copies is not None else max(label.item.bars, 1)
    front, surface = front_of(label.item.recipe.bar)
    return LabelJob(
        wording=label.wording,
        copies=number,
        codes=codes,
        panel_cm2=front,
        surface_cm2=surface,
        look=look_of(label, shop, mood),
    )


def look_of(label: LabelText, shop: Shop, mood: str | None = None) -> Look:
    """How a lot's labels look: its variety's ink, the shop's mark, and what the ledger says of it.

    Raises:
        NotFound: the shop names a mark that is not in its labels folder.
        BadInput: no such mood.
    """
    from soapstock.render.label.designs import MOODS
    from soapstock.render.label.look import Look

    chosen = mood or shop.mood
    if chosen not in MOODS:
        raise BadInput(f"there is no mood '{chosen}'", hint=f"one of: {', '.join(MOODS)}")
    mark = shop.folder / "labels" / shop.mark if shop.mark else None
    if mark is not None and not mark.is_file():
        raise NotFound(f"there is no mark {mark}", hint="put it there, or mend mark in shop.toml")
    masses: dict[str, float] = {}
    for portion in label.item.actual.fats:
        masses[portion.fat] = masses.get(portion.fat, 0.0) + portion.mass_g
    poured = label.item.facts.poured_on
    weighed = {(w.on - poured).days: float(w.bar_g) for w in label.item.facts.weigh_ins}
    return Look(
        ink=label.item.recipe.ink,
        mood=chosen,
        mark=mark,
        fats=tuple(sorted(masses.values(), reverse=True)),
        weighed=tuple(sorted(weighed.items())),
    )


def _over_bars(label: LabelText, copies: int) -> list[str]:
    """A note where more labels are printed than the lot has bars; none while they are not known."""
    bars = label.item.bars
    if not 0 < bars < copies:
        return []
    lot = label.item.facts.lot_code.shown
    return [f"{lot}: {several(copies, 'label')} for {several(bars, 'bar')} in hand."]


def _to_tell(label: LabelText, copies: int) -> list[str]:
    """What is to be told of one lot in a run: its claims before all else."""
    told = list(label.claims)
    if label.item.readiness.state != "ready":
        lot, state = label.item.facts.lot_code.shown, label.item.readiness.state
        told.append(f"{lot} is {state}: these labels may not go on sale yet.")
    return [*told, *_over_bars(label, copies)]


def _stop_claims(label: LabelText, sure: str) -> None:
    """Refuse words that make the bar a drug or a pesticide, unless a reason is given and kept."""
    found = stopping(label.wording.claims)
    if found and not sure.strip():
        hit = found[0]
        raise RuleBroken(
            f"{quoted(hit)} makes the bar {hit.says} ({hit.citation})",
            hint=f"{hit.plainer} If the bar is lawfully that, say that you are sure, and why:"
            " the reason is kept with the count of the labels",
        )


def print_run(
    desk: Desk,
    wanted: Sequence[Wanted],
    path: Path,
    *,
    face: Face,
    sheet: Sheet,
    where: str = "",
    start_at: int = 1,
    offset_mm: tuple[float, float] | None = None,
    panel_cm2: float | None = None,
    count: Counting | None = None,
    sure: str = "",
) -> PrintResult:
    """Print labels of several lots, one after another on the same sheets.

    Args:
        desk: the shop at work.
        wanted: lots and how many labels of each.
        path: the PDF to write.
        face: what stands where on a label.
        sheet: where labels stand on the paper.
        where: the list's name, for messages.
        start_at: first free label of a part-used sheet.
        offset_mm: printer offset, right and down; the shop's own when None.
        panel_cm2: area of the package's front; the bar's own when None.
        count: enters the labels as printed, once the PDF is there.
        sure: why labels whose words stop the print are printed all the same; kept by `count`.

    Raises:
        SoapstockError: as for one lot; the message begins with the list's file and line.
    """
    from soapstock.render.label.run import write_labels

    if count:
        desk.stamp()  # refuses before anything is printed
    notes: dict[str, None] = {}
    worded: dict[str, LabelText] = {}  # a list may hold one lot a thousand times
    printed: list[tuple[str, int]] = []

    def jobs() -> Iterator[LabelJob]:
        for line in wanted:
            try:
                if line.lot not in worded:
                    worded[line.lot] = label_text(desk, line.lot)
                label = worded[line.lot]
                _stop_claims(label, sure if count else "")
                job = label_job(label, desk.shop, line.copies)
                job = replace(job, panel_cm2=panel_cm2 or job.panel_cm2)
            except SoapstockError as err:
                if not where:
                    raise
                raise err.within(f"{where}:{line.line}") from None
            notes.update(dict.fromkeys(_to_tell(label, job.copies)))
            printed.append((job.wording.lot_code, job.copies))
            yield job

    result = write_labels(
        path,
        jobs(),
        face=face,
        sheet=sheet,
        start_at=start_at,
        offset_mm=desk.shop.printer_offset_mm if offset_mm is None else offset_mm,
        title=f"Labels of {len(wanted)} lots" if len(wanted) > 1 else "Labels",
    )
    told = count(printed, face.name, sure) if count else []
    return replace(result, warnings=(*notes, *told, *result.warnings))


def print_labels(
    desk: Desk,
    label: LabelText,
    path: Path,
    *,
    face: str | None = None,
    sheet: str | None = None,
    mood: str | None = None,
    copies: int | None = None,
    start_at: int = 1,
    offset_mm: tuple[float, float] | None = None,
    count: Counting | None = None,
    sure: str = "",
) -> PrintResult:
    """Print the labels of a lot as a PDF; one for each bar in hand unless copies says otherwise.

    The printer's offset (mm right, mm down) and the mood are the shop's own when None. `count`
    enters them as printed, once the PDF is there. `sure` says why words that make the bar a drug or
    a pesticide are printed all the same, and is kept by `count`; without it they stop the print.
    """
    from soapstock.papers.designs import designs_for
    from soapstock.render.label.run import write_labels

    if copies is not None and not 1 <= copies <= MAX_COPIES:
        raise BadInput(several(copies, "copy"), hint=f"give 1 to {MAX_COPIES}")
    _stop_claims(label, sure if count else "")
    chosen_face, chosen_sheet = designs_for(desk, face, sheet)
    if count:
        desk.stamp()  # refuses before anything is printed
    result = write_labels(
        path,
        [label_job(label, desk.shop, copies, mood)],
        face=chosen_face,
        sheet=chosen_sheet,
        start_at=start_at,
        offset_mm=desk.shop.printer_offset_mm if offset_mm is None else offset_mm,
        title=f"Labels {label.item.recipe.name} {label.item.facts.lot_code.shown}",
    )
    result = replace(result, warnings=(*_over_bars(label, result.labels), *result.warnings))
    if not count:
        return result
    told = count([(label.item.facts.lot_code, result.labels)], chosen_face.name, sure)
    return replace(result, warnings=(*told, *result.warnings))
