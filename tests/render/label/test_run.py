"""Label runs: pages, copies, part-used sheets, nothing half-written."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pypdfium2
import pytest

from soapstock.errors import BadInput, RuleBroken
from soapstock.labelling.wording import LabelWording
from soapstock.render.label.designs import load_face, load_sheet
from soapstock.render.label.run import LabelJob, PrintResult, write_labels

MakeWording = Callable[..., LabelWording]


def _print(path: Path, folders: list[Path], jobs: list[LabelJob], start_at: int = 1) -> PrintResult:
    return write_labels(
        path,
        jobs,
        face=load_face("panel", folders),
        sheet=load_sheet("a4-2x4", folders),
        start_at=start_at,
        title="Labels",
    )


def test_copies_run_over_pages_from_the_first_free_label(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """Nine labels from number 3 on a sheet of eight: six on the first page, three on the next."""
    path = tmp_path / "l.pdf"
    result = _print(path, folders, [LabelJob(wording=wording(), copies=9)], start_at=3)
    assert (result.pages, result.labels) == (2, 9)
    pdf = pypdfium2.PdfDocument(path)
    counts = [page.get_textpage().get_text_bounded().count("Net Wt") for page in pdf]
    assert counts == [6, 3]


def test_several_lots_share_a_sheet_in_order(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """Two lots of two labels each stand on one page."""
    path = tmp_path / "l.pdf"
    jobs = [LabelJob(wording=wording(lot), copies=2) for lot in ("DRF26329AK", "EBB26330AX")]
    assert _print(path, folders, jobs).pages == 1
    text = pypdfium2.PdfDocument(path)[0].get_textpage().get_text_bounded()
    assert text.count("DRF-26329-AK") == text.count("EBB-26330-AX") == 2


def _bare(text: str) -> str:
    """The letters alone: a face may set capitals, and a heading without its colon."""
    return "".join(text.casefold().replace(":", "").split())


def test_every_statement_can_be_read_back_from_the_pdf(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """Line breaks apart, the words on paper are the wording's."""
    path = tmp_path / "l.pdf"
    words = wording()
    _print(path, folders, [LabelJob(wording=words, copies=1)])
    text = pypdfium2.PdfDocument(path)[0].get_textpage().get_text_bounded()
    bare = _bare(text)
    for statement in words.statements:
        assert _bare(statement.text) in bare


def test_a_thousand_identical_labels_are_stored_once(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """1,000 copies take under 150 KB."""
    path = tmp_path / "l.pdf"
    _print(path, folders, [LabelJob(wording=wording(), copies=1000)])
    assert path.stat().st_size < 150_000


def test_the_same_run_gives_the_same_bytes(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """No date of making, no random name."""
    for name in ("a.pdf", "b.pdf"):
        _print(tmp_path / name, folders, [LabelJob(wording=wording(), copies=2)])
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def test_a_run_that_fails_leaves_the_old_file_and_no_litter(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """The second lot does not fit: the file that was there stays as it was."""
    path = tmp_path / "l.pdf"
    path.write_bytes(b"%PDF-old")
    bad = wording(name="🧼")
    with pytest.raises(RuleBroken, match="BAR OF SOAP"):
        _print(path, folders, [LabelJob(wording=w, copies=1) for w in (wording(), bad)])
    assert path.read_bytes() == b"%PDF-old"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize(("copies", "start_at"), [(0, 1), (-1, 1), (1, 0), (1, 9), (5_001, 1)])
def test_impossible_runs_are_refused(
    wording: MakeWording, folders: list[Path], tmp_path: Path, copies: int, start_at: int
) -> None:
    """No copies, far too many, or a first label that is not on the sheet."""
    jobs = [LabelJob(wording=wording(), copies=copies)]
    with pytest.raises(BadInput):
        _print(tmp_path / "l.pdf", folders, jobs, start_at=start_at)
    assert not list(tmp_path.iterdir())


def test_a_face_that_does_not_fit_the_sheet_names_sheets_that_do(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """A band does not go on small labels."""
    with pytest.raises(RuleBroken, match="does not fit the labels of sheet 'a4-2x4'") as caught:
        write_labels(
            tmp_path / "l.pdf",
            [LabelJob(wording=wording(), copies=1)],
            face=load_face("band", folders),
            sheet=load_sheet("a4-2x4", folders),
            title="x",
        )
    assert "a4-1x4" in caught.value.hint


def test_a_folder_that_is_not_there_is_said(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """No traceback for a mistyped folder."""
    with pytest.raises(BadInput, match="cannot be written"):
        _print(tmp_path / "no" / "l.pdf", folders, [LabelJob(wording=wording(), copies=1)])


def test_the_label_run_carries_its_caution(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """The result says that the maker answers for the label."""
    result = _print(tmp_path / "l.pdf", folders, [LabelJob(wording=wording(), copies=1)])
    assert any("maker answers" in warning for warning in result.warnings)


def test_a_folder_in_place_of_the_file_is_said(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """The folder stays, nothing is left beside it."""
    (tmp_path / "l.pdf").mkdir()
    with pytest.raises(BadInput, match="not a plain file"):
        _print(tmp_path / "l.pdf", folders, [LabelJob(wording=wording(), copies=1)])
    assert [p.name for p in tmp_path.iterdir()] == ["l.pdf"]


def test_a_run_over_the_cap_is_refused_with_the_cap(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """The message counts what was asked for, the hint says how many may be printed at a time."""
    jobs = [LabelJob(wording=wording(), copies=2_600)] * 2
    with pytest.raises(BadInput, match="5,200 labels in one run") as caught:
        _print(tmp_path / "l.pdf", folders, jobs)
    assert "5,000" in caught.value.hint


def test_a_printers_offset_is_bounded(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """More than 20 mm is a slip of unit."""
    with pytest.raises(BadInput, match="printer offset"):
        write_labels(
            tmp_path / "l.pdf",
            [LabelJob(wording=wording(), copies=1)],
            face=load_face("panel", folders),
            sheet=load_sheet("a4-2x4", folders),
            title="x",
            offset_mm=(0.0, 25.0),
        )
