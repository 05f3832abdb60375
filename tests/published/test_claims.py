"""The claim triage against official guidance.

Sources: CPSC "Soap" FAQ; 21 CFR 701.20; FD&C Act 201(g), 201(i) = 21 USC 321(g), (i); the words in
which Directive 2001/83/EC Art. 1(2) and Regulation (EC) No 1223/2009 Art. 2(1)(a) define a medicine
and a cosmetic in their French, German, Spanish and Dutch texts (from memory).
"""

import pytest

from soapstock.labelling.claims import check_claims, verdict


@pytest.mark.parametrize(
    ("text", "becomes"),
    [
        ("Lavender soap that cleans", None),  # 21 CFR 701.20: labelled and sold only as soap
        ("moisturizing soap", "cosmetic"),  # CPSC FAQ
        ("softens skin", "cosmetic"),  # CPSC FAQ
        ("makes you smell nice", "cosmetic"),  # CPSC FAQ
        ("deodorizes the body", "cosmetic"),  # CPSC FAQ
        ("beautifying", "cosmetic"),  # 21 USC 321(i)
        ("improves the appearance", "cosmetic"),  # 21 USC 321(i)
        ("treats acne", "drug"),  # CPSC FAQ
        ("treats eczema", "drug"),  # CPSC FAQ
        ("kills germs", "drug"),  # CPSC FAQ
        ("antibacterial", "drug"),  # CPSC FAQ
        ("antimicrobial", "drug"),  # CPSC FAQ
        ("relieves itching", "drug"),  # 21 USC 321(g)(1), our inference
        ("anti-inflammatory", "drug"),  # 21 USC 321(g)(1), our inference
        ("with sodium lauryl sulfate", "cosmetic"),  # CPSC FAQ: synthetic detergent
    ],
)
def test_the_guidance_s_own_examples(text: str, becomes: str | None) -> None:
    """CPSC Soap FAQ and the Act's definitions."""
    assert verdict(check_claims(text, "us-soap")) == becomes


@pytest.mark.parametrize(
    ("language", "words"),
    [
        ("fr", "propriétés curatives"),
        ("de", "Heilung menschlicher Krankheiten"),
        ("de", "Verhütung menschlicher Krankheiten"),
        ("es", "tratamiento de enfermedades"),
        ("es", "prevención de enfermedades"),
        ("nl", "geneeskrachtige werking"),
    ],
)
def test_the_words_that_define_a_medicine_are_a_medicine_s(language: str, words: str) -> None:
    """Directive 2001/83/EC Art. 1(2), language versions, from memory."""
    assert verdict(check_claims(words, "eu", language)) == "drug"


@pytest.mark.parametrize(
    ("language", "words"),
    [
        ("fr", "corriger les odeurs corporelles"),
        ("de", "den Körpergeruch beeinflussen"),
        ("es", "corregir los olores corporales"),
        ("nl", "lichaamsgeuren corrigeren"),
    ],
)
def test_the_words_that_define_a_cosmetic_are_more_than_soap_s(language: str, words: str) -> None:
    """Regulation (EC) No 1223/2009 Art. 2(1)(a), language versions, from memory."""
    assert verdict(check_claims(words, "us-soap", language)) == "cosmetic"
    assert verdict(check_claims(words, "eu", language)) is None
