"""A PDF that goes into its file page by page is whole, and keeps little in memory meanwhile."""

from __future__ import annotations

import re
import tracemalloc
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from soapstock.errors import BadInput
from soapstock.labelling.wording import LabelWording
from soapstock.render.label.designs import load_face, load_sheet
from soapstock.render.label.run import LabelJob, PrintResult, write_labels
from soapstock.render.pdf.file import end_page, new_pdf

MakeWording = Callable[..., LabelWording]


def _page(canvas: Any, number: int) -> None:
    """A page with a form of its own, one it shares with all others, and some text."""
    for name in ("shared", f"own{number}"):
        if not canvas.hasForm(name):
            canvas.beginForm(name, 0, 0, 50, 50)
            canvas.rect(5, 5, 20 + number % 7, 30)
            canvas.endForm()
        canvas.doForm(name)
    canvas.drawString(20, 60, f"page {number}")
    end_page(canvas)


def _pages(path: Path, count: int) -> None:
    with new_pdf(path, width_mm=60, height_mm=60, title="Pages") as canvas:
        for number in range(count):
            _page(canvas, number)


def test_the_cross_reference_table_says_where_every_object_stands(tmp_path: Path) -> None:
    """Each entry of 20 bytes gives the place of its object's head: ISO 32000-1 section 7.5.4."""
    _pages(tmp_path / "p.pdf", 12)
    data = (tmp_path / "p.pdf").read_bytes()
    start = int(data.rsplit(b"startxref\n", 1)[1].split()[0])
    head, first, rest = data[start:].split(b"\n", 2)
    count = int(first.split()[1])
    assert head == b"xref"
    entries = [rest[20 * number : 20 * number + 20] for number in range(count)]
    for number, entry in enumerate(entries[1:], 1):
        assert entry.endswith(b" 00000 n \n")
        place = int(entry[:10])
        assert data[place : place + 16].startswith(f"{number} 0 obj\n".encode())
    assert len(re.findall(rb"(?m)^\d+ 0 obj$", data)) == count - 1
    assert f"/Size {count}".encode() in data[start:]


def test_every_page_is_there_with_its_words_and_forms(tmp_path: Path) -> None:
    """Read back by an independent library (PDFium)."""
    _pages(tmp_path / "p.pdf", 12)
    pdf = pypdfium2.PdfDocument(tmp_path / "p.pdf")
    for number, page in enumerate(pdf):
        assert page.get_textpage().get_text_bounded() == f"page {number}"
        assert len(list(page.get_objects(max_depth=1))) == 3
    assert pdf.get_metadata_value("Title") == "Pages"


def test_a_form_drawn_on_many_pages_is_stored_once(tmp_path: Path) -> None:
    """Ten pages: the shared form and ten of their own."""
    _pages(tmp_path / "p.pdf", 10)
    assert (tmp_path / "p.pdf").read_bytes().count(b"/Subtype /Form") == 11


def test_pages_are_in_the_file_before_the_last_one_is_drawn(tmp_path: Path) -> None:
    """The temporary file grows as pages are ended."""
    sizes = []
    with new_pdf(tmp_path / "p.pdf", width_mm=60, height_mm=60, title="Pages") as canvas:
        for number in range(400):
            _page(canvas, number)
            (temporary,) = tmp_path.glob(".soapstock-*")
            sizes.append(temporary.stat().st_size)
    assert sizes[-1] > sizes[200] > sizes[0]


def _peak_bytes(path: Path, count: int) -> int:
    tracemalloc.start()
    _pages(path, count)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak


def test_a_page_more_takes_little_memory(tmp_path: Path) -> None:
    """Under 2 KB for a page and a form of its own: what is drawn on it is forgotten."""
    _peak_bytes(tmp_path / "p.pdf", 20)  # fonts and caches
    few, many = (_peak_bytes(tmp_path / "p.pdf", count) for count in (100, 400))
    assert (many - few) / 300 < 2000


def _run(path: Path, folders: list[Path], jobs: Iterator[LabelJob], total: int) -> PrintResult:
    face, sheet = load_face("panel", folders), load_sheet("a4-2x4", folders)
    return write_labels(path, jobs, face=face, sheet=sheet, title="x", total=total)


def test_jobs_are_taken_one_at_a_time(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """With the total known, no more than one job waits beside the one that is printed."""
    alive, most = 0, 0

    class Watched(LabelJob):
        """A job that tells when it is forgotten."""

        __slots__ = ()

        def __del__(self) -> None:
            nonlocal alive
            alive -= 1

    def jobs() -> Iterator[LabelJob]:
        nonlocal alive, most
        for number in range(30):
            alive += 1
            most = max(most, alive)
            yield Watched(wording=wording(f"DRF{number:05d}AK"), copies=1)

    assert _run(tmp_path / "l.pdf", folders, jobs(), 30).labels == 30
    assert most <= 3


def test_a_job_that_fails_half_way_leaves_nothing(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """The ninth label is on the second page; the first page is gone too."""

    def jobs() -> Iterator[LabelJob]:
        yield LabelJob(wording=wording(), copies=8)
        yield LabelJob(wording=wording(), copies=0)

    with pytest.raises(BadInput, match="0 copies"):
        _run(tmp_path / "l.pdf", folders, jobs(), 8)
    assert not list(tmp_path.iterdir())
