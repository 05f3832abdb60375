"""Phrases as makers write them, and what each makes of a bar sold as soap in the United States.

The phrases are ours. What each class means: 21 CFR 701.20 and the CPSC Soap FAQ (soap, cosmetic),
21 USC 321(g)(1) and 321(i) (drug, cosmetic), 7 USC 136(u) and 40 CFR 152.15 (pesticide),
21 CFR 710.8 and Regulation (EU) No 655/2013 Annex (false, note), 15 USC 1453(b) (quantity).
"""

import csv
from collections import Counter
from pathlib import Path

import pytest

from soapstock.labelling.claim_lists import claim_languages
from soapstock.labelling.claims import check_claims, verdict

with (Path(__file__).parent / "claim_phrases.csv").open(encoding="utf-8", newline="") as _file:
    PHRASES = [(row["language"], row["class"], row["phrase"]) for row in csv.DictReader(_file)]


@pytest.mark.parametrize(("language", "becomes", "phrase"), PHRASES)
def test_a_phrase_makes_of_the_bar_what_the_law_says(
    language: str, becomes: str, phrase: str
) -> None:
    """Half of them are harmless and must stay so."""
    assert (verdict(check_claims(phrase, "us-soap", language)) or "none") == becomes


def test_the_table_is_wide_enough_and_about_half_of_it_harmless() -> None:
    """200 in English, 20 in each other language; none twice."""
    assert len(set(PHRASES)) == len(PHRASES)
    for language in claim_languages():
        found = Counter(becomes for one, becomes, _ in PHRASES if one == language)
        assert found.total() >= (200 if language == "en" else 20)
        assert 0.4 <= found["none"] / found.total() <= 0.6
