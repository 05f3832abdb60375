"""Labels and cards of a batch."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pypdfium2
import pytest

from soapstock.desk.desk import Desk
from soapstock.enter.declare import declare
from soapstock.errors import RuleBroken
from soapstock.exchange.tabular import plain
from soapstock.papers import cards, labels
from soapstock.views import label

READY = "DRF-26241-AZ"
CURING = "DRF-26316-AN"


def test_the_label_record_keeps_its_keys(desk: Desk) -> None:
    """The documented keys of `label --json`."""
    record = plain(label.label_row(label.label_text(desk, READY)))
    assert record.keys() >= {"declaration", "net_weight", "lot", "cautions", "statements"}
    assert record["net_weight"].keys() == {"g", "oz", "text"}


def test_the_declaration_descends_by_weight(desk: Desk) -> None:
    """Of the poured convention's main lines each is at most the one before."""
    made = label.label_text(desk, READY, names="poured")
    shares = [line.mass_g for line in made.declaration.lines if line.group == "main"]
    assert shares == sorted(shares, reverse=True)


def test_both_conventions_name_every_fat_once(desk: Desk) -> None:
    """Poured lists the fats with the lye; finished lists their salts and no lye."""
    poured = label.label_text(desk, READY, names="poured", style="eu").declaration.text
    finished = label.label_text(desk, READY, names="finished", style="eu").declaration.text
    assert "Sodium Hydroxide" in poured
    assert "Sodium Hydroxide" not in finished
    assert "Sodium Tallowate" in finished
    assert "Glycerin" in finished


def test_an_overstated_weight_is_refused(desk: Desk) -> None:
    """Bars that will weigh less than declared get no label."""
    with pytest.raises(RuleBroken, match="140"):
        label.label_text(desk, READY, declared_g=Decimal(140))


@pytest.mark.parametrize(
    ("market", "cited"),
    [
        ("us-soap", "16 CFR 500.25"),
        ("us-cosmetic", "21 CFR 701.13(s)"),
        ("eu", "76/211/EEC"),
        ("uk", "S.I. 2006/659"),
        ("ca", "label"),
    ],
)
def test_an_overstated_weight_is_refused_by_the_market_s_own_law(
    desk: Desk, market: str, cited: str
) -> None:
    """Not by the United States' in Europe, nor by any where our tables know none."""
    with pytest.raises(RuleBroken) as caught:
        label.label_text(desk, READY, market=market, declared_g=Decimal(140))
    assert cited in caught.value.hint
    assert ("16 CFR" in caught.value.hint) is (market == "us-soap")


def test_a_batch_still_curing_says_so(desk: Desk) -> None:
    """Labels may be printed ahead, but the maker is told they may not go on sale."""
    made = label.label_text(desk, "DRF-26316-AN")
    assert "may not go on sale" in made.notes[0]


def test_the_lot_code_on_the_label_reads_back(desk: Desk) -> None:
    """What the QR code holds is read as the lot it names."""
    from soapstock.codes.reading import read_code

    made = label.label_text(desk, READY)
    assert read_code(made.wording.qr_text) == READY.replace("-", "")


def test_cards_are_printed_for_many_lots(desk: Desk, tmp_path: Path) -> None:
    """Two cards in one file."""
    path = tmp_path / "cards.pdf"
    assert cards.print_cards(desk, [READY, "SAM-26323-AN"], path) == 2
    assert path.read_bytes().startswith(b"%PDF")


def test_a_rejected_batch_gets_no_label(desk: Desk) -> None:
    """Nothing of a rejected batch is labelled."""
    from soapstock.enter import decide

    decide.decide(desk, READY, "reject", "rancid")
    with pytest.raises(RuleBroken, match="rejected"):
        label.label_text(desk, READY)


def printed_text(path: Path) -> str:
    """The words of a PDF's first page, read by an independent library (PDFium)."""
    document = pypdfium2.PdfDocument(path)
    text = str(document[0].get_textpage().get_text_bounded())
    document.close()
    return text


def test_a_precaution_learned_later_stands_on_bars_poured_before(
    desk: Desk, tmp_path: Path
) -> None:
    """The newest version's precautions are added to those of the pour, and the label prints."""
    from soapstock.enter.recipe import add_recipe
    from soapstock.tables.shipped import shipped_dir

    text = (shipped_dir("sample_data") / "recipes" / "driftwood.toml").read_text(encoding="utf-8")
    file = tmp_path / "driftwood.toml"
    file.write_text(
        text.replace("notes =", 'precautions = ["avoid-eyes"]\nnotes =', 1), encoding="utf-8"
    )
    add_recipe(desk, file)
    made = label.label_text(desk, READY, market="eu", language="fr")
    assert made.wording.text("precautions") == "Attention : Éviter le contact avec les yeux."
    for face, sheet in (("band", "a4-1x4"), ("panel", "a4-2x4"), ("tag", "a4-4x2")):
        out = tmp_path / f"{face}.pdf"
        result = labels.print_labels(desk, made, out, face=face, sheet=sheet, copies=1)
        assert not any("precaution" in warning for warning in result.warnings)
        assert "Éviter le contact avec les yeux." in " ".join(printed_text(out).split())


@pytest.mark.parametrize(("value", "refused"), [("10.99", False), ("11.0", True)])
def test_a_ph_of_eleven_gets_no_label_in_europe(desk: Desk, value: str, refused: bool) -> None:
    """Annex III 15a(d): below 11; the United States label is none the wiser."""
    from soapstock.enter.batch import test

    test(desk, READY, "ph", passed=None, value=value)
    if refused:
        with pytest.raises(RuleBroken, match="FAILED"):
            label.label_text(desk, READY, market="us-soap")
        with pytest.raises(RuleBroken, match="not below 11"):
            label.label_text(desk, READY, market="uk")
    else:
        made = label.label_text(desk, READY, market="uk")
        assert not any("pH" in note for note in made.notes)


@pytest.mark.parametrize(("face", "sheet"), [("band", "a4-1x4"), ("panel", "letter-2x3")])
def test_a_label_for_canada_fits_in_both_languages(
    desk: Desk, tmp_path: Path, face: str, sheet: str
) -> None:
    """Two whole faces hold the bilingual words at their heights; the file says it is Canadian."""
    made = label.label_text(desk, READY, market="ca")
    out = tmp_path / "ca.pdf"
    labels.print_labels(desk, made, out, face=face, sheet=sheet, copies=1)
    text = " ".join(printed_text(out).split())
    for words in ("SOAP / SAVON", "Made by / Fabriqué par", "Meilleur avant"):
        assert words in text
    assert b"/Lang (en-CA)" in out.read_bytes()


def test_a_face_too_small_for_canada_is_refused_with_mends(desk: Desk, tmp_path: Path) -> None:
    """1.6 mm letters are not shrunk to fit a tag."""
    made = label.label_text(desk, READY, market="ca")
    with pytest.raises(RuleBroken, match="smallest type allowed") as caught:
        labels.print_labels(desk, made, tmp_path / "t.pdf", face="tag", sheet="a4-4x2", copies=1)
    assert "bigger face" in caught.value.hint


def test_a_lot_has_one_ingredient_list_whatever_the_day(desk: Desk) -> None:
    """Labels printed ahead and labels printed for the last bars: Art. 19(1)(g), when added."""
    from dataclasses import replace

    early = replace(desk, today=date(2026, 10, 1))
    for lot in (READY, "MUD-26267-AZ", "EEL-26255-A6"):
        for market in ("eu", "ca", "us-soap"):
            lists = [label.label_text(at, lot, market=market).declaration for at in (early, desk)]
            assert lists[0].text == lists[1].text
            assert lists[0].lines == lists[1].lines


def test_a_label_says_no_other_weight_than_its_batch_declares(desk: Desk) -> None:
    """The gate, the promise and the record know the declared weight alone: 100 g is refused."""
    made = label.label_text(desk, READY)
    assert label.label_text(desk, READY, declared_g=made.net.g).net.text == made.net.text
    with pytest.raises(RuleBroken, match=r"cannot say 100\.0 g") as caught:
        label.label_text(desk, READY, declared_g=Decimal(100))
    assert caught.value.mend is not None
    assert caught.value.mend.key == "declare"


def test_a_batch_declared_anew_is_labelled_so(desk: Desk) -> None:
    """What was declared for this batch is what its label says."""
    declare(desk, CURING, "100g", "lighter than planned")
    assert label.label_text(desk, CURING).net.g == Decimal(100)
    assert label.label_text(desk, CURING, declared_g=Decimal(100)).net.g == Decimal(100)
