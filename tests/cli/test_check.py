"""`check ...`: weights, words and labels against the law, as people read it."""

import inspect
import json
from pathlib import Path
from typing import Any

import pytest

from soapstock.cli import check
from soapstock.cure.prior import table

WEIGHTS = ["check", "net-weight", "none.csv", "--lot-size", "12", "--market", "eu"]


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["rules", "mars"], 2),
        (["rules", "uk", "--on", "2019-01-01"], 4),
        (["rules", "uk", "--on", "soon"], 2),
        (["rules", "eu", "--sizes", "--allergens"], 2),
        (["check", "claims"], 2),
        (["check", "claims", "none.txt", "--market", "eu"], 3),
        ([*WEIGHTS, "--declared", "113g"], 3),
        ([*WEIGHTS, "--declared", "113"], 2),
        ([*WEIGHTS, "--declared", "113g", "--allowance", "much"], 2),
    ],
)
def test_bad_input_is_one_clear_line(run: Any, words: list[str], code: int) -> None:
    """The right exit code, one line and a hint, no traceback."""
    told = run("--today", "2026-11-25", *words)
    assert told.code == code
    assert told.err.startswith("soapstock: ")
    assert "Traceback" not in told.err


def test_a_drug_claim_ends_with_refused(run: Any) -> None:
    """The hit, its law, plainer words, and exit code 4."""
    told = run("check", "claims", "--text", "Treats acne", "--market", "us-soap")
    assert told.code == 4
    assert "21 USC 321(g)(1)" in told.out
    assert "Plainer:" in told.out


def test_a_note_alone_ends_well(run: Any) -> None:
    """Words that need proof are told, not refused."""
    told = run("check", "claims", "--text", "Hypoallergenic", "--market", "eu")
    assert told.code == 0
    assert "655/2013" in told.out


def test_typed_words_are_read_from_standard_input(run: Any) -> None:
    """A dash reads what is piped in."""
    told = run("check", "claims", "-", "--market", "us-soap", typed="It heals.\n")
    assert told.code == 4


def test_weights_that_fail_end_with_refused_and_a_record(run: Any, tmp_path: Path) -> None:
    """The page is printed and written, and the code says the lot fails."""
    file, out = tmp_path / "bars.csv", tmp_path / "record.txt"
    file.write_text("net_g\n" + "112.5\n" * 12, encoding="utf-8")
    told = run(
        "--today",
        "2026-11-25",
        "--by",
        "Ann",
        "check",
        "net-weight",
        file,
        "--declared",
        "113g",
        "--lot-size",
        "120",
        "--market",
        "us-soap",
        "--out",
        out,
    )
    assert told.code == 4
    assert "RESULT: the lot FAILS." in told.out
    assert out.read_text(encoding="utf-8") == told.out


def test_a_passing_lot_as_json(run: Any, tmp_path: Path) -> None:
    """All figures come as JSON too."""
    file = tmp_path / "bars.csv"
    file.write_text("net_g\n" + "113.4\n" * 12, encoding="utf-8")
    told = run(
        "check",
        "net-weight",
        file,
        "--declared",
        "113g",
        "--lot-size",
        "120",
        "--market",
        "us-soap",
        "--json",
    )
    record = json.loads(told.out)
    assert told.code == 0
    assert record["passes"] is True
    assert record["result"]["sample_size"] == 12


@pytest.mark.parametrize("panel", ["90x60mm", "90mm x 60mm", "3.5in x 2.25in"])
def test_a_label_is_explained_with_its_panel(run: Any, demo_shop: Path, panel: str) -> None:
    """The height asked for and the place of the weight are printed."""
    told = run(
        "--shop",
        demo_shop,
        "--today",
        "2026-11-20",
        "check",
        "label",
        "DRF-26241-AZ",
        "--panel",
        panel,
    )
    assert told.code == 0
    assert "3.2 mm" in told.out
    assert "lowest 30 %" in told.out


@pytest.mark.parametrize("panel", ["90", "90x60", "wide x tall", "0x60mm"])
def test_a_panel_that_is_not_understood_is_refused(run: Any, demo_shop: Path, panel: str) -> None:
    """A size needs two sides and a unit."""
    told = run("--shop", demo_shop, "check", "label", "DRF-26241-AZ", "--panel", panel)
    assert told.code == 2


def test_a_declared_weight_is_judged(run: Any, demo_shop: Path) -> None:
    """Chances, the largest it could be, and the tolerance of one bar."""
    told = run("--shop", demo_shop, "--today", "2026-11-20", "check", "declared", "DRF-26241-AZ")
    assert told.code == 0
    assert "largest kept at pack" in told.out


@pytest.mark.parametrize("sure", ["0", "100", "very"])
def test_a_certainty_out_of_range_is_refused(run: Any, demo_shop: Path, sure: str) -> None:
    """Nothing is certain, and nothing is impossible."""
    told = run("--shop", demo_shop, "check", "declared", "DRF-26241-AZ", "--sure", sure)
    assert told.code == 2


def test_claims_are_read_in_the_language_asked_for(run: Any) -> None:
    """The hit, plainer words in that language, and which lists were used."""
    told = run(
        "check",
        "claims",
        "--text",
        "Behandelt geen acne, maar geneest wonden",
        "--market",
        "us-soap",
        "--language",
        "nl",
    )
    assert told.code == 4
    assert "denied" in told.out
    assert "waarvan de zeep is gemaakt" in told.out
    assert "used: nl" in told.out


def test_a_language_without_a_list_is_bad_input(run: Any) -> None:
    """One line, with the languages there are."""
    told = run("check", "claims", "--text", "x", "--market", "eu", "--language", "it")
    assert told.code == 2
    assert "en, fr, de, es, nl" in told.err


def test_a_german_label_is_checked_in_german(run: Any, demo_shop: Path) -> None:
    """The words of a lot's label in that language, against that language's list."""
    told = run(
        "--shop",
        demo_shop,
        "--today",
        "2026-11-20",
        "check",
        "claims",
        "--lot",
        "DRF-26241-AZ",
        "--market",
        "eu",
        "--language",
        "de",
    )
    assert told.code == 0
    assert "used: de" in told.out


def test_a_declared_weight_of_nothing_is_refused(run: Any, demo_shop: Path) -> None:
    """It was passed over for the recipe's own."""
    lot = "DRF-26241-AZ"
    shop = ("--shop", demo_shop, "--today", "2026-11-20")
    for command in (("label", lot, "--text"), ("check", "declared", lot)):
        told = run(*shop, *command, "--declared", "0g")
        assert told.code == 2
        assert "0" in told.err
        assert "113" not in told.out


def test_the_colours_a_market_allows_are_listed(run: Any) -> None:
    """By name with their section in the United States, by number in the EU, nowhere else."""
    us = json.loads(run("rules", "us-cosmetic", "--colours", "--json").out)
    assert {"name": "Mica", "listed": "21 CFR 73.2496"}.items() <= next(
        row for row in us if row["name"] == "Mica"
    ).items()
    assert not any("harcoal" in row["name"] for row in us)
    eu = json.loads(run("rules", "eu", "--colours", "--json").out)
    assert ("Charcoal", "CI 77268:1") in [(row["name"], row["listed"]) for row in eu]
    assert "no list of that kind" in run("rules", "ca", "--colours").out
    assert run("rules", "eu", "--colours", "--sizes").code == 2


def test_a_weight_is_checked_at_the_chance_it_is_promised_with() -> None:
    """Else the check and the gate of one batch answer differently unasked."""
    sure = inspect.signature(check.check_declared).parameters["sure"].default
    assert float(sure) / 100 == pytest.approx(table("promise")["model_chance"])
