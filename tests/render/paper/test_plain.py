"""Plain papers lose nothing."""

import pypdfium2
import pytest

from soapstock.errors import RuleBroken
from soapstock.render.paper.plain import Column, Paper, Section, write_paper

COLUMNS = (Column(head="Lot", share=2), Column(head="Bars", right=True))


def _read(path):
    return [p.get_textpage().get_text_bounded() for p in pypdfium2.PdfDocument(path)]


def _paper(rows, **more):
    return Paper(title="Pick list", sections=(Section(columns=COLUMNS, rows=rows),), **more)


def test_long_tables_run_on_and_every_row_is_printed_once(tmp_path):
    """Each page says which it is."""
    rows = tuple((f"LOT-{n:04d}-X", str(n)) for n in range(150))
    pages = write_paper(tmp_path / "p.pdf", _paper(rows))
    text = _read(tmp_path / "p.pdf")
    assert len(text) == pages > 1
    assert all("".join(text).count(row[0]) == 1 for row in rows)
    assert f"Page {pages} of {pages}." in text[-1]


def test_long_cells_wrap(tmp_path):
    """Down, not over the next column."""
    words = " ".join(f"word{n}" for n in range(60))
    write_paper(tmp_path / "p.pdf", _paper(((words, "1"),)))
    assert all(f"word{n}" in _read(tmp_path / "p.pdf")[0] for n in range(60))


def test_markup_is_printed_as_it_stands(tmp_path):
    """Text is text: no tag, no PDF operator."""
    write_paper(tmp_path / "p.pdf", _paper((("<b>bold</b> ) Tj (", "1"),)))
    assert "<b>bold</b> ) Tj (" in _read(tmp_path / "p.pdf")[0]


def test_a_character_without_a_glyph_is_refused(tmp_path):
    """Never a black box, and no file is left."""
    with pytest.raises(RuleBroken):
        write_paper(tmp_path / "p.pdf", _paper((("漢", "1"),)))
    assert list(tmp_path.iterdir()) == []
