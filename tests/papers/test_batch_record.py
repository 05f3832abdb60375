"""The batch record holds what the ledger holds, and shows what it does not."""

import pypdfium2
import pytest

from soapstock.errors import NotFound, RuleBroken
from soapstock.papers import batch_record
from soapstock.views.batch import views


def _text(path):
    pages = pypdfium2.PdfDocument(path)
    return " ".join("".join(p.get_textpage().get_text_bounded() for p in pages).split())


@pytest.fixture
def shipped(desk):
    """A batch with shipments."""
    return next(v.facts for v in views(desk) if v.facts.shipments)


def test_every_fact_of_the_batch_is_printed(desk, shipped, tmp_path):
    """Lots, suppliers, tests, decisions, customers and entries."""
    path = tmp_path / "r.pdf"
    batch_record.write_record(desk, shipped.lot_code, path)
    text = _text(path)
    from soapstock.codes.lot import format_code

    for use in shipped.pour.uses:
        assert format_code(use.lot_code) in text
    for word in (shipped.decisions[-1].reason, shipped.shipments[0].customer):
        assert word in text
    with desk.ledger.read() as reader:
        assert all(f"{e.id} {e.happened_on}" in text for e in reader.entries(shipped.lot_code))


def test_cautions_stand_with_the_lye(desk, shipped, tmp_path):
    """Wherever a lye weight is printed."""
    batch_record.write_record(desk, shipped.lot_code, tmp_path / "r.pdf")
    assert "never water to lye" in _text(tmp_path / "r.pdf")


@pytest.mark.parametrize("measured", [None, 60.0, 91.0])
def test_a_caution_is_no_weaker_than_the_sheet_s(desk, shipped, measured):
    """A pour that stayed cooler does not make the next one cooler: the reckoned peak stands."""
    from dataclasses import replace

    from soapstock.chemistry.heat import lye_peak
    from soapstock.views.poured import actual_masses

    actual = actual_masses(shipped)
    reckoned = lye_peak(naoh_g=actual.naoh_g, water_g=actual.water_g)
    facts = replace(shipped, pour=replace(shipped.pour, peak_c=measured))
    said = batch_record._lye_cautions(facts)[0].text
    assert f"as much as {reckoned.peak_c:.0f} C" in said
    hotter = replace(shipped, pour=replace(shipped.pour, peak_c=reckoned.peak_c + 10))
    assert f"as much as {reckoned.peak_c + 10:.0f} C" in batch_record._lye_cautions(hotter)[0].text


def test_gaps_are_shown_as_gaps(desk, tmp_path):
    """A young batch has no test and no release yet, and its record says so."""
    young = next(v.facts for v in views(desk) if not v.facts.tests and not v.facts.decisions)
    done = batch_record.write_record(desk, young.lot_code, tmp_path / "r.pdf")
    assert {"tests", "release"} <= set(done.gaps)
    assert "GAP: not on record" in _text(tmp_path / "r.pdf")


def test_an_ingredient_lot_has_no_batch_record(desk, shipped, tmp_path):
    """And no file is written."""
    with pytest.raises((RuleBroken, NotFound), match="batch"):
        batch_record.write_record(desk, shipped.pour.uses[0].lot_code, tmp_path / "r.pdf")
    assert list(tmp_path.glob("*.pdf")) == []


def test_each_heading_names_its_clause(desk, shipped, tmp_path):
    """Clauses of ISO 22716:2007: 6.4 materials, 7.2 making, 7.3 packaging, 8.2 release, 9 tests.

    7.2.5 and 9 are from memory; the words before them are ours.
    """
    batch_record.write_record(desk, shipped.lot_code, tmp_path / "r.pdf")
    text = _text(tmp_path / "r.pdf")
    for heading in (
        "What was poured, and when (7.2.1, 7.2.3)",
        "What went in (6.4, 7.2.4)",
        "How it was poured (7.2.1.2)",
        "Out of the mould, and weighed as it dried (7.2.5)",
        "How it was tested (9)",
        "Who let it go, or kept it back (8.2, 8.3.3)",
        "Its labels (7.3)",
        "Where the bars are (8.3), samples kept back (9.8)",
        "Who received it (8.4)",
        "All entries, and what was mended (17.3.4)",
    ):
        assert heading in text
