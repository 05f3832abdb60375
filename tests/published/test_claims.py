"""The claim triage against official guidance.

Sources: CPSC "Soap" FAQ; 21 CFR 701.20; FD&C Act 201(g), 201(i) = 21 USC 321(g), (i).
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
