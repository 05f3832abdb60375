"""Words that make a bar a drug or a pesticide stop its labels; herd claims are answered by lot.

21 USC 321(g)(1): a drug by its intended use; 7 USC 136(u): a pesticide by its intended use.
"""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import CHECKOUT

EBB = (CHECKOUT / "sample_data" / "recipes" / "ebb.toml").read_text(encoding="utf-8")
NAME = 'name = "Ebb"'
REASON = "sold as an OTC drug under our own listing"


def _poured(run: Any, folder: Path, name: str) -> tuple[Any, str]:
    """A shop's command on the day of its pour, and the lot of a bar of that name."""
    assert NAME in EBB
    recipe = folder.parent / "ebb.toml"
    recipe.write_text(EBB.replace(NAME, f'name = "{name}"'), encoding="utf-8")
    start = ("--maker", "Test Maker", "--by", "tm", "--address", "1 Lane, Town, ST 00000")
    assert run("start", folder, *start).code == 0

    def at(*words: object) -> Any:
        return run("--shop", folder, "--today", "2026-09-01", *words)

    assert at("recipe", "add", recipe).code == 0
    raw = at("receive", "raw-beef-tallow", "--mass", "6kg", "--animal", "heifer 7, grass-fed")
    lot = next(word for word in raw.out.split() if word.startswith("RAW-")).strip(".:,")
    assert at("render", "beef-tallow", "--mass", "4kg", "--from", f"{lot}=6kg").code == 0
    for fat, mass in (("coconut", "2kg"), ("naoh", "1kg")):
        assert at("receive", fat, "--mass", mass, "--supplier", "S").code == 0
    masses = ("-w", "tallow=1010g", "-w", "coconut=390g", "-w", "naoh=200g", "-w", "water=328g")
    poured = at("pour", "EBB", *masses)
    return at, next(word for word in poured.out.split() if word.startswith("EBB-26244"))


@pytest.fixture
def drug(run: Any, tmp_path: Path) -> tuple[Any, str]:
    """A bar called Eczema Relief."""
    return _poured(run, tmp_path / "shop", "Eczema Relief")


def test_a_drug_s_name_stops_the_print(drug: tuple[Any, str], tmp_path: Path) -> None:
    """Exit 4, the law and plainer words; no file, and nothing entered."""
    at, lot = drug
    out = tmp_path / "labels.pdf"
    told = at("label", lot, "--copies", 2, "--out", out)
    assert told.code == 4
    assert "21 USC 321(g)(1)" in told.err
    assert "reason is kept" in told.err
    assert not out.exists()
    assert not any("labels" in one["kind"] for one in json.loads(at("entries", "--json").out))


def test_a_list_of_lots_is_stopped_at_its_line(drug: tuple[Any, str], tmp_path: Path) -> None:
    """The run's file and line stand before the reason."""
    at, lot = drug
    wanted, out = tmp_path / "run.csv", tmp_path / "run.pdf"
    wanted.write_text(f"lot,copies\n{lot},2\n", encoding="utf-8")
    told = at("label-run", wanted, "--out", out)
    assert told.code == 4
    assert "run.csv:2" in told.err
    assert not out.exists()
    told = at("label-run", wanted, "--out", out, "--sure", REASON)
    assert told.code == 0
    assert "makes the bar a drug" in " ".join(told.out.split())


def test_a_reason_prints_them_and_is_kept_with_the_count(
    drug: tuple[Any, str], tmp_path: Path
) -> None:
    """The labels are counted as printed, with the reason on that entry; the claim comes first."""
    at, lot = drug
    told = at("label", lot, "--copies", 2, "--out", tmp_path / "l.pdf", "--sure", REASON)
    assert told.code == 0, told.err
    kept = [one for one in json.loads(at("entries", "--json").out) if one["kind"] == "labels"]
    assert [one["note"] for one in kept] == [REASON]
    first = " ".join(told.out.split()).split(" - ")[1]
    assert first.startswith("'Relief' in 'Eczema Relief' makes the bar a drug")


def test_a_blank_reason_is_none(drug: tuple[Any, str], tmp_path: Path) -> None:
    """Somebody must say why."""
    at, lot = drug
    assert at("label", lot, "--out", tmp_path / "l.pdf", "--copies", 1, "--sure", " ").code == 4


def test_the_wording_alone_is_shown_with_the_claim_first(drug: tuple[Any, str]) -> None:
    """What is not printed may be looked at."""
    at, lot = drug
    told = at("label", lot, "--text")
    assert told.code == 0
    assert "makes the bar a drug" in told.out


def test_a_harmless_name_needs_no_reason(run: Any, tmp_path: Path) -> None:
    """Cured is the trade's own word; natural is the maker's to prove."""
    at, lot = _poured(run, tmp_path / "shop", "Natural Ebb, slowly cured")
    out = tmp_path / "l.pdf"
    assert at("label", lot, "--copies", 1, "--out", out).code == 0


def test_a_herd_claim_is_answered_from_the_animal_s_own_record(run: Any, tmp_path: Path) -> None:
    """Through the rendering to the raw fat; on the label's run, and for words about the lot."""
    at, lot = _poured(run, tmp_path / "shop", "Grass-fed Ebb")
    told = at("label", lot, "--copies", 1, "--out", tmp_path / "l.pdf")
    assert told.code == 0, told.err
    said = " ".join(told.out.split())
    assert "(raw beef tallow, from own animal): its record says so: 'heifer 7, grass-fed'" in said
    words = at("check", "claims", "--text", "100 % pasture-raised", "--lot", lot)
    assert words.code == 0
    assert "its record does not say so" in " ".join(words.out.split())


@pytest.mark.parametrize(
    "words", ["Repels mosquitoes", "FDA approved", "Made without lye", "Shampoo bar"]
)
def test_a_pesticide_a_false_word_and_a_cosmetic_are_refused(run: Any, words: str) -> None:
    """Exit 4, as for a drug."""
    assert run("check", "claims", "--market", "us-soap", "--text", words).code == 4


def test_a_pipe_that_never_ends_is_read_no_further_than_the_limit(run: Any) -> None:
    """One line, bad input."""
    told = run("check", "claims", "-", "--market", "us-soap", typed="a" * 5_000_002)
    assert told.code == 2
    assert "5000000 characters" in told.err
